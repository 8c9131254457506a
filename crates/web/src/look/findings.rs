//! Findings as a list: verdict, statement, evidence, limit with its source, action, caution.

use maud::{Markup, html};
use site::finding::{Finding, Use, When};
use site::region::Words;

use super::shape;

/// Draws findings as they come, of so many that there are.
pub fn list(findings: &[Finding], of: usize, region: &Words) -> Markup {
    html! {
        @for it in findings {
            article .sheet {
                p { (shape::verdict(it.verdict)) " " span .faint { (it.element.replacen(':', " ", 1)) } }
                p { b { (it.statement) } }
                @if it.action.use_ != Use::Yes || it.action.when != When::None {
                    p { (trace::words::sentence(&trace::words::to_do(it.action, region))) "." }
                }
                @if !it.caution.is_empty() { p .caution { b { "Caution. " } (it.caution) } }
                @if !it.evidence.is_empty() { ul .small { @for line in &it.evidence { li { (line) } } } }
                @if let Some(limit) = &it.limit {
                    p .small .faint { "Limit: " (limit.says) "; " (limit.source) " (" (limit.basis) ")." }
                }
            }
        }
        @if of > findings.len() {
            p .small .faint { "Shown are the " (findings.len()) " worst of " (of) "; every reading is in the visit's file." }
        }
    }
}
