//! `schema`: JSON Schema of what goes in and comes out, written from the types; and every fault kind.

use serde::Serialize;
use serde_json::{Value, json};

use crate::args::{Document, Schema};
use crate::ending::{Ending, Exit, FORMAT, Page};

/// Runs the verb.
pub fn run(args: &Schema) -> Ending {
    let document = match args.document {
        Some(it) => of(it),
        None => json!({
            "format": FORMAT,
            "site": of(Document::Site),
            "visit": of(Document::Visit),
            "answer": of(Document::Answer),
            "faults": of(Document::Faults),
        }),
    };
    Ok(Page::json(&document, Exit::Good))
}

fn of(document: Document) -> Value {
    match document {
        Document::Site => site::file::schema_site(),
        Document::Visit => site::file::schema_visit(),
        Document::Answer => schemars::schema_for!(trace::answer::Answer).to_value(),
        Document::Faults => faults(),
    }
}

/// One kind of fault, as `schema faults` lists it.
#[derive(Serialize)]
struct Kind {
    id: &'static str,
    says: &'static str,
    sits: String,
    prevalence: f64,
    basis: metrology::Basis,
    source: &'static str,
    mends: &'static str,
    caution: &'static str,
    mistake_of_measuring: bool,
}

fn faults() -> Value {
    let kinds: Vec<Kind> = trace::faults::ALL
        .iter()
        .map(|it| Kind {
            id: it.id,
            says: it.says,
            sits: kebab(&format!("{:?}", it.sits)),
            prevalence: it.prevalence.value,
            basis: it.prevalence.basis,
            source: it.prevalence.source,
            mends: it.mends,
            caution: it.caution,
            mistake_of_measuring: it.is_misreading(),
        })
        .collect();
    json!({ "format": FORMAT, "faults": kinds })
}

/// `ServicePanel` as `service-panel`.
fn kebab(name: &str) -> String {
    let mut text = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !text.is_empty() {
            text.push('-');
        }
        text.extend(c.to_lowercase());
    }
    text
}
