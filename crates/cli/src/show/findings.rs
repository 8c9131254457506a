//! Findings as a list: verdict, element, statement, evidence, limit with its source, action, caution.

use site::finding::{Finding, Use};
use site::region::Words;

use crate::screen::{Looks, Screen};
use crate::show::words;

/// Writes findings, as they come.
pub fn list(screen: &mut Screen, findings: &[Finding], region: &Words) {
    for finding in findings {
        one(screen, finding, region);
    }
}

fn one(screen: &mut Screen, finding: &Finding, region: &Words) {
    let label = format!("  {}  ", words::verdict(finding.verdict));
    let text = format!("{}: {}", finding.element, finding.statement);
    screen.hanging_by(
        4,
        &label,
        words::looks(finding.verdict),
        &text,
        Looks::Plain,
    );
    for line in &finding.evidence {
        screen.hanging("    - ", Looks::Plain, line, Looks::Plain);
    }
    if let Some(limit) = &finding.limit {
        let text = format!("{}; {} ({})", limit.says, limit.source, limit.basis);
        screen.hanging("    limit: ", Looks::Faint, &text, Looks::Plain);
    }
    if finding.action.use_ != Use::Yes || finding.action.when != site::finding::When::None {
        let action = trace::words::to_do(finding.action, region);
        screen.hanging("    do: ", Looks::Faint, &action, Looks::Plain);
    }
    if !finding.caution.is_empty() {
        screen.hanging(
            "    caution: ",
            Looks::Faint,
            &finding.caution,
            Looks::Heading,
        );
    }
}
