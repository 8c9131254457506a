//! A file that was read: what it means, and what it says, so that it can be written again without loss.

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::Form;
use super::problem::Log;
use super::tree::Table;
use super::written::SiteFile;
use super::written_visit::VisitFile;
use crate::model::Site;
use crate::visit::Visit;

/// A site file that was read: the site, and the file it came from.
#[derive(Clone, Debug)]
pub struct SiteDocument {
    /// The site.
    pub site: Site,
    /// What was taken for granted because the file does not say it.
    pub notes: Vec<String>,
    pub(super) said: Said<SiteFile>,
}

/// A visit file that was read: the visit, and the file it came from.
#[derive(Clone, Debug)]
pub struct VisitDocument {
    /// The visit.
    pub visit: Visit,
    pub(super) said: Said<VisitFile>,
}

/// What a file says: as types, and the text itself where there was one.
#[derive(Clone, Debug)]
pub(super) struct Said<T> {
    pub written: T,
    pub text: Option<(Form, String)>,
}

macro_rules! writes {
    ($document:ident, $written:ident) => {
        impl $document {
            /// The file as it was written, as types.
            pub fn written(&self) -> &$written {
                &self.said.written
            }

            /// As TOML: the very text where it was TOML, comments and all.
            pub fn to_toml(&self) -> String {
                self.said.toml()
            }

            /// As JSON: the very text where it was JSON.
            pub fn to_json(&self) -> String {
                self.said.json()
            }
        }

        impl $written {
            /// As a TOML text.
            pub fn to_toml(&self) -> String {
                toml_of(self)
            }

            /// As a JSON text.
            pub fn to_json(&self) -> String {
                json_of(self)
            }
        }
    };
}

writes!(SiteDocument, SiteFile);
writes!(VisitDocument, VisitFile);

impl<T: Serialize> Said<T> {
    fn toml(&self) -> String {
        match &self.text {
            Some((Form::Toml, text)) => text.clone(),
            _ => toml_of(&self.written),
        }
    }

    fn json(&self) -> String {
        match &self.text {
            Some((Form::Json, text)) => text.clone(),
            _ => json_of(&self.written),
        }
    }
}

impl<T: DeserializeOwned> Said<T> {
    /// What a tree says that was found to be sound.
    pub fn of(tree: &Table, text: Option<(Form, &str)>, log: &mut Log) -> Option<Said<T>> {
        match serde_json::from_value(tree.plain()) {
            Ok(written) => Some(Said {
                written,
                text: text.map(|(form, text)| (form, text.to_owned())),
            }),
            Err(error) => {
                // the reader let something pass that the types of the file do not hold
                log.add(0..0, "", error.to_string(), None);
                None
            }
        }
    }
}

fn toml_of<T: Serialize>(written: &T) -> String {
    toml::to_string(written)
        .expect("texts, numbers, flags, lists and tables, without null: all of which TOML has")
}

fn json_of<T: Serialize>(written: &T) -> String {
    serde_json::to_string_pretty(written).expect("the keys are texts, and nothing else can fail")
}
