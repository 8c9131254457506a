//! Site and visit files: TOML or JSON in, all problems at once or a site and a visit out.

#[allow(dead_code)] // used by the readers to come
mod near;

pub(crate) use near::fold;
