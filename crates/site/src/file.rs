//! Site and visit files: TOML or JSON in, all problems at once or a site and a visit out.

mod document;
pub(crate) mod json_tree;
mod names;
pub(crate) mod near;
pub(crate) mod problem;
mod read_on;
mod reader;
mod schema;
mod site;
mod supplies;
mod toml_tree;
pub(crate) mod tree;
mod visit;
pub mod written;
pub mod written_machine;
pub mod written_visit;

pub use document::{SiteDocument, VisitDocument};
pub use problem::{Problem, Problems};
pub use read_on::read_on;
pub use schema::{schema_site, schema_visit};

pub(crate) use near::fold;

use crate::model::Site;
use crate::supply::Supply;
use crate::visit::Visit;
use document::Said;
use problem::Log;
use tree::Table;

/// The form of a file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// TOML, which people write.
    Toml,
    /// JSON, which programs write.
    Json,
}

/// Reads a site file. `name` stands in its problems, as `millbrook.toml`.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_site(text: &str, name: &str, form: Form) -> Result<SiteDocument, Problems> {
    let (tree, log) = tree_of(text, name, form)?;
    site_of(&tree, Some((form, text)), log)
}

/// Reads a visit file at a site that is known. `name` stands in its problems.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_visit(text: &str, name: &str, form: Form, site: &Site) -> Result<Visit, Problems> {
    read_visit_document(text, name, form, site).map(|it| it.visit)
}

/// Reads a visit file, and keeps what it says so that it can be written again.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_visit_document(
    text: &str,
    name: &str,
    form: Form,
    site: &Site,
) -> Result<VisitDocument, Problems> {
    let (tree, log) = tree_of(text, name, form)?;
    visit_of(&tree, Some((form, text)), log, site)
}

/// Reads a list of supplies to choose from. `name` stands in its problems.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_supplies(text: &str, name: &str, form: Form) -> Result<Vec<Supply>, Problems> {
    let (tree, mut log) = tree_of(text, name, form)?;
    supplies::read(&tree, &mut log).ok_or_else(|| log.close())
}

/// A site from a JSON value in memory, whose problems then have no line.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn site_from_value(value: &serde_json::Value, name: &str) -> Result<SiteDocument, Problems> {
    let (tree, log) = tree_in(value, name)?;
    site_of(&tree, None, log)
}

/// A visit from a JSON value in memory, whose problems then have no line.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn visit_from_value(
    value: &serde_json::Value,
    name: &str,
    site: &Site,
) -> Result<Visit, Problems> {
    let (tree, log) = tree_in(value, name)?;
    visit_of(&tree, None, log, site).map(|it| it.visit)
}

/// A site from the types of its file.
///
/// # Errors
/// Everything that is wrong with it, at once; the problems have no line.
pub fn site_from_file(file: &written::SiteFile, name: &str) -> Result<SiteDocument, Problems> {
    site_from_value(&serde_json::to_value(file).unwrap_or_default(), name)
}

/// A visit from the types of its file.
///
/// # Errors
/// Everything that is wrong with it, at once; the problems have no line.
pub fn visit_from_file(
    file: &written_visit::VisitFile,
    name: &str,
    site: &Site,
) -> Result<Visit, Problems> {
    let value = serde_json::to_value(file).unwrap_or_default();
    let (tree, mut log) = tree_in(&value, name)?;
    let read = visit::read(&tree, site, &mut log).filter(|_| log.is_clean());
    read.ok_or_else(|| log.close()) // what it says is `file` itself
}

fn tree_of<'t>(text: &'t str, name: &str, form: Form) -> Result<(Table, Log<'t>), Problems> {
    let mut log = Log::of(name, text);
    let tree = match form {
        Form::Toml => toml_tree::read(text, &mut log),
        Form::Json => json_tree::read(text, &mut log),
    };
    match log.is_clean() {
        true => Ok((tree, log)),
        false => Err(log.close()), // what broken syntax leaves is not worth judging
    }
}

fn tree_in(value: &serde_json::Value, name: &str) -> Result<(Table, Log<'static>), Problems> {
    let mut log = Log::without_text(name);
    match value {
        serde_json::Value::Object(it) => Ok((Table::of(it), log)),
        _ => {
            let what = "an object is wanted here".to_owned();
            log.add(0..0, "", what, Some("write { ... }".to_owned()));
            Err(log.close())
        }
    }
}

type Text<'t> = Option<(Form, &'t str)>;

fn site_of(tree: &Table, text: Text, mut log: Log) -> Result<SiteDocument, Problems> {
    let read = site::read(tree, &mut log).filter(|_| log.is_clean());
    let document = read.and_then(|(site, notes)| {
        let said = Said::of(tree, text, &mut log)?;
        Some(SiteDocument { site, notes, said })
    });
    document.ok_or_else(|| log.close())
}

fn visit_of(
    tree: &Table,
    text: Text,
    mut log: Log,
    site: &Site,
) -> Result<VisitDocument, Problems> {
    let read = visit::read(tree, site, &mut log).filter(|_| log.is_clean());
    let document = read.and_then(|visit| {
        let said = Said::of(tree, text, &mut log)?;
        Some(VisitDocument { visit, said })
    });
    document.ok_or_else(|| log.close())
}
