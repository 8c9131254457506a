//! Names of things in the store: given by the caller, so that nothing here depends on chance.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! id {
    ($(#[$doc:meta] $name:ident),* $(,)?) => {$(
        #[$doc]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, sqlx::Type)]
        #[serde(transparent)]
        #[sqlx(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<$name, uuid::Error> {
                text.parse().map($name)
            }
        }
    )*};
}

id! {
    /// A site.
    SiteId,
    /// A visit.
    VisitId,
    /// A paired phone.
    DeviceId,
    /// Made by whoever sends something, so that the same thing sent twice is kept once.
    Key,
}

macro_rules! count {
    ($(#[$doc:meta] $name:ident),* $(,)?) => {$(
        #[$doc]
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, sqlx::Type)]
        #[serde(transparent)]
        #[sqlx(transparent)]
        pub struct $name(pub i64);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }
    )*};
}

count! {
    /// Which state of a document, counted from 1; the order of states, whatever the clock said.
    Revision,
    /// Place of a row among those of its visit, counted from 1; the order of rows, whatever the clock said.
    Seq,
}
