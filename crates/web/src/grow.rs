//! What is added by touch is written at the end of the site's file: the drawing and the file are one document.

use serde::Deserialize;
use site::model::Site;

/// Something to add.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct Growth {
    /// `circuit`, `outlet`, `ups`, `machine`, `protector` or `line`.
    pub what: String,
    /// What people call it.
    pub name: String,
    /// Breaker of a circuit, as `20 A`.
    pub breaker: String,
    /// Circuit of an outlet that comes straight from the panel: `circuit:A3`; the outlet before it: `outlet:desk`.
    pub after: String,
    /// Length of the cable to it, as `6 m`.
    pub run: String,
    /// Power, as `450 W`.
    pub power: String,
    /// What a line is: `telephone`, `coax` or `network`.
    pub line: String,
}

/// A text as TOML writes it, with everything that could end it escaped.
fn quoted(text: &str) -> String {
    toml::Value::String(text.trim().to_owned())
        .to_string()
        .replace('\n', " ")
}

/// An identifier made from a name, that no element has yet.
pub fn identifier(name: &str, taken: impl Fn(&str) -> bool) -> String {
    let mut id = String::new();
    for it in name.trim().to_lowercase().chars() {
        match it {
            it if it.is_alphanumeric() => id.push(it),
            _ if !id.is_empty() && !id.ends_with('-') => id.push('-'),
            _ => {}
        }
    }
    let id = id
        .trim_end_matches('-')
        .chars()
        .take(40)
        .collect::<String>();
    let id = if id.is_empty() {
        "place".to_owned()
    } else {
        id
    };
    let mut n = 1;
    let mut unique = id.clone();
    while taken(&unique) {
        n += 1;
        unique = format!("{id}-{n}");
    }
    unique
}

impl Growth {
    /// The site's text with it added. Whether that reads is for the reader of site files to say.
    ///
    /// # Errors
    /// Says which field, and what to write there.
    pub fn added_to(&self, text: &str, site: &Site) -> Result<String, String> {
        if self.name.trim().is_empty() {
            return Err("The name: write what people call it.".to_owned());
        }
        let mut lines = Vec::new();
        let mut put = |key: &str, value: &str| {
            if !value.trim().is_empty() {
                lines.push(format!("{key} = {}", quoted(value)));
            }
        };
        match self.what.as_str() {
            "circuit" => {
                put("id", &self.name);
                put("breaker", &self.breaker);
            }
            "outlet" => {
                put(
                    "id",
                    &identifier(&self.name, |it| site.outlet(it).is_some()),
                );
                put("label", &self.name);
                match self.after.split_once(':') {
                    Some(("circuit", circuit)) => put("circuit", circuit),
                    Some(("outlet", before)) => put("after", before),
                    _ => {
                        return Err(
                            "What feeds it: choose the circuit or the outlet before it.".to_owned()
                        );
                    }
                }
                put("run", &self.run);
            }
            "ups" | "machine" => {
                put("id", &self.name);
                match self.after.split_once(':') {
                    Some((_, at)) => put("at", at),
                    None => return Err("Where it is plugged in: choose an outlet.".to_owned()),
                }
                put("power", &self.power);
            }
            "protector" => {
                put("id", &self.name);
                match self.after.split_once(':') {
                    Some(("outlet" | "ups", at)) => put("at", at),
                    Some(_) => put("at", &self.after),
                    None => return Err("What it protects: choose a place.".to_owned()),
                }
            }
            "line" => {
                put("id", &self.name);
                put("kind", &self.line);
                match self.after.split_once(':') {
                    Some((_, to)) => put("to", to),
                    None => return Err("Where it ends: choose a machine.".to_owned()),
                }
            }
            _ => return Err("Choose what to add.".to_owned()),
        }
        let end = if text.ends_with('\n') { "" } else { "\n" };
        Ok(format!(
            "{text}{end}\n[[{}]]\n{}\n",
            self.what,
            lines.join("\n")
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use site::file::{Form, read_site};

    const TEXT: &str = include_str!("../../site/data/demo/site.toml");

    #[test]
    fn what_is_added_reads_and_what_stood_there_stays() {
        let site = read_site(TEXT, "site", Form::Toml)
            .expect("the demo reads")
            .site;
        let add = |what: &str, name: &str, after: &str| Growth {
            what: what.into(),
            name: name.into(),
            after: after.into(),
            run: if what == "outlet" {
                "3 m".into()
            } else {
                String::new()
            },
            ..Growth::default()
        };
        let mut text = TEXT.to_owned();
        for growth in [
            add("outlet", "Front desk, left", "outlet:lab"),
            add("outlet", "\"]]\n[[x]] # \\", "circuit:A3"),
            add("circuit", "C7", ""),
            add("ups", "lab-ups", "outlet:lab"),
            add("machine", "lab-2", "ups:lab-ups"),
            add("protector", "at the panel", "panel:main"),
            add("protector", "at the bench", "outlet:lab"),
            Growth {
                line: "coax".into(),
                ..add("line", "antenna", "machine:lab-2")
            },
        ] {
            text = growth.added_to(&text, &site).expect("the fields are sound");
            if let Err(problems) = read_site(&text, "site", Form::Toml) {
                panic!("{growth:?}: {problems}");
            }
        }
        assert!(text.starts_with(TEXT));
        let grown = read_site(&text, "site", Form::Toml)
            .expect("it was read above")
            .site;
        assert_eq!(grown.outlets.len(), site.outlets.len() + 2);
    }
}
