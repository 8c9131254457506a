//! What is plugged in or comes in by a line, as the file has it: found by its kind and name.

use serde_json::Value;
use site::file::written::SiteFile;
use site::model::Site;

use crate::look::symbol::Symbol;
use crate::pages::site::encoded;

/// One of them.
pub struct Thing<'f> {
    /// What it is.
    pub symbol: Symbol,
    /// Its identifier.
    pub id: &'f str,
    /// Where it is plugged in, or the machine that a line ends at.
    pub at: &'f str,
    /// What it draws, or which line it is.
    pub more: Option<&'f str>,
    /// Everything else that the file says.
    pub rest: Vec<(String, Value)>,
}

/// All of a file, each behind what it hangs on.
pub fn all(file: &SiteFile) -> Vec<Thing<'_>> {
    let mut all: Vec<Thing<'_>> = Vec::new();
    all.extend(file.ups.iter().map(|it| Thing {
        symbol: Symbol::Ups,
        id: &it.id,
        at: &it.at,
        more: it.power.as_deref(),
        rest: rest(&it.rest),
    }));
    all.extend(file.machine.iter().map(|it| Thing {
        symbol: Symbol::Machine,
        id: &it.id,
        at: &it.at,
        more: it.power.as_deref(),
        rest: made_of(it),
    }));
    all.extend(file.load.iter().map(|it| Thing {
        symbol: Symbol::Load,
        id: &it.id,
        at: &it.at,
        more: it.power.as_deref().or(it.current.as_deref()),
        rest: Vec::new(),
    }));
    all.extend(file.protector.iter().map(|it| Thing {
        symbol: Symbol::Protector,
        id: &it.id,
        at: &it.at,
        more: None,
        rest: rest(&it.rest),
    }));
    all.extend(file.line.iter().map(|it| Thing {
        symbol: Symbol::Line,
        id: &it.id,
        at: &it.to,
        more: Some(&it.kind),
        rest: rest(&it.rest),
    }));
    all
}

fn rest(rest: &std::collections::BTreeMap<String, Value>) -> Vec<(String, Value)> {
    let each = rest.iter().map(|(key, it)| (key.clone(), it.clone()));
    each.collect()
}

/// What a machine's table says beside its name, its place and its power, as it is written.
fn made_of(machine: &site::file::written_machine::Machine) -> Vec<(String, Value)> {
    let Ok(Value::Object(table)) = serde_json::to_value(machine) else {
        return Vec::new(); // not reached: a table with keys that are texts
    };
    let told = |it: &(String, Value)| !["id", "at", "power"].contains(&it.0.as_str());
    table.into_iter().filter(told).collect()
}

impl Thing<'_> {
    /// Its page.
    pub fn page(&self, site: &str) -> String {
        format!(
            "/site/{site}/thing/{}/{}",
            kind(self.symbol),
            encoded(self.id)
        )
    }

    /// What it hangs on: how, name, page.
    pub fn hangs(
        &self,
        id: &str,
        site: &Site,
        all: &[Thing<'_>],
    ) -> (&'static str, String, Option<String>) {
        let how = match self.symbol {
            Symbol::Line => "Ends at",
            Symbol::Protector => "Protects",
            _ => "Plugged into",
        };
        if let Some(outlet) = site.outlet(self.at) {
            let page = format!("/site/{id}/place/{}", encoded(self.at));
            return (how, site.outlets[outlet.0].label.clone(), Some(page));
        }
        let other = all.iter().find(|it| it.id == self.at && carries(it.symbol));
        let name = self.at.replacen(':', " ", 1);
        (how, name, other.map(|it| it.page(id)))
    }

    /// What the file says of it, in plain letters.
    pub fn facts(&self) -> Vec<(String, String)> {
        let more = self.more.map(|it| {
            let key = if self.symbol == Symbol::Line {
                "kind"
            } else {
                "power"
            };
            (trace::words::sentence(key), it.to_owned())
        });
        let rest = self
            .rest
            .iter()
            .map(|(key, it)| (trace::words::sentence(&key.replace('_', " ")), plain(it)));
        more.into_iter().chain(rest).collect()
    }
}

/// Whether something else can hang on it.
pub fn carries(symbol: Symbol) -> bool {
    matches!(symbol, Symbol::Ups | Symbol::Machine | Symbol::Load)
}

/// As an address names it.
pub fn kind(symbol: Symbol) -> &'static str {
    match symbol {
        Symbol::Ups => "ups",
        Symbol::Machine => "machine",
        Symbol::Protector => "protector",
        Symbol::Line => "line",
        _ => "load",
    }
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(it) => it.clone(),
        Value::Array(each) => each.iter().map(plain).collect::<Vec<_>>().join("; "),
        Value::Object(each) => {
            let parts = each
                .iter()
                .map(|(key, it)| format!("{} {}", key.replace('_', " "), plain(it)));
            parts.collect::<Vec<_>>().join(", ")
        }
        other => other.to_string(),
    }
}
