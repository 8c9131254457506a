//! The pages, one a file: a plain struct, how it is filled, its samples, how it is drawn.

pub mod compare;
pub mod copies;
pub mod damaged;
pub mod evidence;
pub mod file;
pub mod help;
pub mod home;
pub mod new_site;
pub mod outage;
pub mod pair;
pub mod phones;
pub mod place;
pub mod quick;
#[cfg(test)]
mod rendered;
pub mod restore;
#[cfg(test)]
mod samples;
pub mod site;
pub mod thing;
pub mod visit;
pub mod visits;
