//! Tests about the repository itself; nothing depends on this crate.

#[cfg(test)]
mod tests {
    use std::fs;
    use std::path::{Path, PathBuf};
    use std::process::Command;

    fn root() -> PathBuf {
        Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
    }

    fn read(path: &str) -> String {
        fs::read_to_string(root().join(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
    }

    /// Rows of the crate table: name and what it may use.
    fn crates() -> Vec<(String, Vec<String>)> {
        let text = read("ARCHITECTURE.md");
        let names = |cell: &str| -> Vec<String> {
            cell.split('`')
                .skip(1)
                .step_by(2)
                .map(str::to_owned)
                .collect()
        };
        text.lines()
            .filter(|l| l.starts_with("| `"))
            .map(|l| {
                let cells: Vec<&str> = l.split('|').collect();
                (names(cells[1]).remove(0), names(cells[2]))
            })
            .collect()
    }

    /// Own crates that a crate's manifest depends on, tests included.
    fn uses(dir: &str, own: &[String]) -> Vec<String> {
        let manifest = read(&format!("crates/{dir}/Cargo.toml"));
        let mut inside = false;
        let mut out = Vec::new();
        for line in manifest.lines() {
            if line.starts_with('[') {
                inside = line == "[dependencies]";
                continue;
            }
            let name = line.split(['.', ' ', '=']).next().unwrap_or("");
            if inside && own.iter().any(|c| c == name) {
                out.push(name.to_owned());
            }
        }
        out
    }

    #[test]
    fn the_workspace_is_the_one_on_the_map() {
        let crates = crates();
        let own: Vec<String> = crates.iter().map(|(n, _)| n.clone()).collect();
        let mut members: Vec<String> = fs::read_dir(root().join("crates"))
            .expect("the crates folder is part of the repository")
            .filter_map(|e| e.ok()?.file_name().into_string().ok())
            .map(|d| {
                if d == "cli" {
                    "wattwright".to_owned()
                } else {
                    d
                }
            })
            .collect();
        members.sort();
        let mut listed = own.clone();
        listed.sort();
        assert_eq!(
            members, listed,
            "ARCHITECTURE.md lists other crates than there are"
        );
        for (i, (name, may)) in crates.iter().enumerate() {
            let dir = if name == "wattwright" { "cli" } else { name };
            let used = uses(dir, &own);
            for u in &used {
                assert!(may.contains(u), "`{name}` may not use `{u}`");
                let at = own.iter().position(|c| c == u).unwrap_or(0);
                assert!(
                    at > i,
                    "`{name}` uses `{u}`, which stands above it in the table"
                );
            }
        }
    }

    /// Every tracked text file, by path.
    fn tracked() -> Vec<(String, String)> {
        let listed = Command::new("git")
            .arg("-C")
            .arg(root())
            .args(["ls-files"])
            .output();
        let Ok(listed) = listed else {
            return Vec::new();
        };
        String::from_utf8_lossy(&listed.stdout)
            .lines()
            .filter_map(|p| {
                fs::read_to_string(root().join(p))
                    .ok()
                    .map(|t| (p.to_owned(), t))
            })
            .collect()
    }

    #[test]
    fn no_file_names_a_machine_or_a_registry_host() {
        // Written in pieces, so that this file does not name them either.
        let words = [
            ["/wo", "rk/"].concat(),
            ["/ro", "ot/"].concat(),
            ["static.crates", ".io"].concat(),
            ["../sha", "red"].concat(),
        ];
        for (path, text) in tracked() {
            for word in &words {
                assert!(!text.contains(word.as_str()), "{path} contains {word}");
            }
        }
    }

    #[test]
    fn every_entry_of_a_data_file_says_where_it_comes_from() {
        for (path, text) in tracked() {
            if path.starts_with("crates/site/data/")
                && path.ends_with(".toml")
                && !path.contains("demo")
            {
                let n_source = text.matches("source").count();
                let n_basis = text.matches("basis").count();
                assert!(
                    n_source > 0 && n_basis > 0,
                    "{path} has values without source and basis"
                );
            }
        }
    }
}
