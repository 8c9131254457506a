//! Has the crate built again when a migration is added; the macro that takes them in reads the folder unseen.

fn main() {
    println!("cargo:rerun-if-changed=migrations");
}
