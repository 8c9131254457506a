//! A visit's document, taken apart into its head and its rows and put together again without a letter lost.

use serde::Serialize;
use site::file::written_visit::{Observation, Reading, VisitFile};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

use crate::entries::Said;

/// A document taken apart.
pub(crate) struct Split {
    /// All but the rows.
    pub head: String,
    /// Each row, and its text where that is not what we would write.
    pub rows: Vec<(Said, Option<String>)>,
}

/// A row as we write it.
pub(crate) fn row(said: &Said) -> String {
    #[derive(Serialize)]
    struct Rows<'r> {
        #[serde(skip_serializing_if = "Option::is_none")]
        reading: Option<[&'r Reading; 1]>,
        #[serde(skip_serializing_if = "Option::is_none")]
        observation: Option<[&'r Observation; 1]>,
    }
    let (reading, observation) = match said {
        Said::Reading(it) => (Some([it]), None),
        Said::Observation(it) => (None, Some([it])),
    };
    let rows = Rows {
        reading,
        observation,
    };
    let text = toml::to_string(&rows).expect("texts and flags in tables, all of which TOML has");
    format!("\n{text}")
}

/// A head that names its site as the site is called now.
pub(crate) fn named(head: &str, site: &str) -> String {
    let Ok(mut document) = head.parse::<DocumentMut>() else {
        return head.to_owned(); // it was read when it was kept
    };
    if document.get("site").and_then(Item::as_str) != Some(site) {
        document["site"] = value(site);
    }
    document.to_string()
}

/// Takes a document apart that reads as `written`.
pub(crate) fn split(text: &str, written: &VisitFile) -> Split {
    let to_the_letter = cut(text, written).filter(|it| joined(it).as_ref() == Some(written));
    to_the_letter.unwrap_or_else(|| {
        // an odd way of writing: what it says is kept, how it is laid out is not
        let mut head = written.clone();
        let readings = std::mem::take(&mut head.reading)
            .into_iter()
            .map(Said::Reading);
        let observations = std::mem::take(&mut head.observation).into_iter();
        Split {
            head: head.to_toml(),
            rows: readings
                .chain(observations.map(Said::Observation))
                .map(|it| (it, None))
                .collect(),
        }
    })
}

fn joined(split: &Split) -> Option<VisitFile> {
    let mut text = split.head.clone();
    for (said, written) in &split.rows {
        text += &written.clone().unwrap_or_else(|| row(said));
    }
    types(&text).ok()
}

/// A document as types, without asking whether it makes sense at a site.
pub(crate) fn types(text: &str) -> Result<VisitFile, String> {
    let table: toml::Table = text.parse().map_err(|it: toml::de::Error| it.to_string())?;
    let json = json_of(toml::Value::Table(table));
    serde_json::from_value(json).map_err(|it| it.to_string())
}

/// As JSON, which has no dates: they are texts there, as in the types.
fn json_of(value: toml::Value) -> serde_json::Value {
    match value {
        toml::Value::String(it) => it.into(),
        toml::Value::Integer(it) => it.into(),
        toml::Value::Float(it) => it.into(),
        toml::Value::Boolean(it) => it.into(),
        toml::Value::Datetime(it) => it.to_string().into(),
        toml::Value::Array(each) => each.into_iter().map(json_of).collect(),
        toml::Value::Table(each) => {
            let each = each.into_iter().map(|(key, it)| (key, json_of(it)));
            serde_json::Value::Object(each.collect())
        }
    }
}

fn cut(text: &str, written: &VisitFile) -> Option<Split> {
    let mut document: DocumentMut = text.parse().ok()?;
    let mut rows = Vec::new();
    let mut take = |key: &str, said: &mut dyn Iterator<Item = Said>| {
        let Some(item) = document.as_table_mut().remove(key) else {
            return Some(());
        };
        for table in item.into_array_of_tables().ok()?.iter() {
            rows.push((table.position()?, alone(key, table), said.next()?));
        }
        Some(())
    };
    take(
        "reading",
        &mut written.reading.iter().cloned().map(Said::Reading),
    )?;
    take(
        "observation",
        &mut written.observation.iter().cloned().map(Said::Observation),
    )?;
    rows.sort_by_key(|(position, ..)| *position);
    if let Some((_, last, _)) = rows.last_mut() {
        // what stands at the end of the file stands behind its last row
        *last += document.trailing().as_str().unwrap_or_default();
        document.set_trailing("");
    }
    let mut head = document.to_string();
    if !head.ends_with('\n') {
        head.push('\n');
    }
    let rows = rows.into_iter().map(|(_, text, said)| {
        let ours = row(&said) == text;
        (said, (!ours).then_some(text))
    });
    Some(Split {
        head,
        rows: rows.collect(),
    })
}

fn alone(key: &str, table: &Table) -> String {
    let mut tables = ArrayOfTables::new();
    tables.push(table.clone());
    let mut document = DocumentMut::new();
    document.insert(key, Item::ArrayOfTables(tables));
    let mut text = document.to_string();
    if !text.ends_with('\n') {
        text.push('\n'); // the next row begins on a line of its own
    }
    text
}
