//! Site and visit files: TOML or JSON in, all problems at once or a site and a visit out.

mod json_tree;
mod names;
pub(crate) mod near;
pub(crate) mod problem;
mod reader;
mod site;
mod toml_tree;
mod tree;
mod visit;

pub use problem::{Problem, Problems};

pub(crate) use near::fold;

use crate::model::Site;
use crate::visit::Visit;
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

/// A site file that was read: the site, and the file it came from.
#[derive(Clone, Debug)]
pub struct SiteDocument {
    /// The site.
    pub site: Site,
    /// What was taken for granted because the file does not say it.
    pub notes: Vec<String>,
}

/// Reads a site file. `name` stands in its problems, as `millbrook.toml`.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_site(text: &str, name: &str, form: Form) -> Result<SiteDocument, Problems> {
    let (tree, log) = tree_of(text, name, form)?;
    site_of(tree, log)
}

/// Reads a visit file at a site that is known. `name` stands in its problems.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn read_visit(text: &str, name: &str, form: Form, site: &Site) -> Result<Visit, Problems> {
    let (tree, log) = tree_of(text, name, form)?;
    visit_of(&tree, log, site)
}

/// A site from a JSON value in memory, whose problems then have no line.
///
/// # Errors
/// Everything that is wrong with it, at once.
pub fn site_from_value(value: &serde_json::Value, name: &str) -> Result<SiteDocument, Problems> {
    let (tree, log) = tree_in(value, name)?;
    site_of(tree, log)
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
    visit_of(&tree, log, site)
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

fn site_of(tree: Table, mut log: Log) -> Result<SiteDocument, Problems> {
    let read = site::read(&tree, &mut log);
    match read {
        Some((site, notes)) if log.is_clean() => Ok(SiteDocument { site, notes }),
        _ => Err(log.close()),
    }
}

fn visit_of(tree: &Table, mut log: Log, site: &Site) -> Result<Visit, Problems> {
    let read = visit::read(tree, site, &mut log);
    match read {
        Some(visit) if log.is_clean() => Ok(visit),
        _ => Err(log.close()),
    }
}
