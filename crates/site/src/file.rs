//! Site and visit files: TOML or JSON in, all problems at once or a site and a visit out.

mod json_tree;
mod names;
mod near;
mod problem;
mod reader;
mod site;
mod toml_tree;
mod tree;

pub use problem::{Problem, Problems};

pub(crate) use near::fold;

use crate::model::Site;
use problem::Log;

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
    let mut log = Log::of(name, text);
    let tree = match form {
        Form::Toml => toml_tree::read(text, &mut log),
        Form::Json => json_tree::read(text, &mut log),
    };
    if !log.is_clean() {
        return Err(log.close()); // what broken syntax leaves is not worth judging
    }
    match site::read(&tree, &mut log) {
        Some((site, notes)) if log.is_clean() => Ok(SiteDocument { site, notes }),
        _ => Err(log.close()),
    }
}
