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
            let is_data = ["crates/site/data/", "crates/plan/data/"]
                .iter()
                .any(|it| path.starts_with(it));
            if is_data && path.ends_with(".toml") && !path.contains("demo") {
                let n_source = text.matches("source").count();
                let n_basis = text.matches("basis").count();
                assert!(
                    n_source > 0 && n_basis > 0,
                    "{path} has values without source and basis"
                );
            }
        }
    }

    /// The lines of a source that pages are made by: comments, texts and what is compiled for tests only are left out.
    fn working_lines(source: &str) -> Vec<String> {
        let mut lines = Vec::new();
        let (mut skipping, mut depth) = (false, 0i32);
        for line in source.lines() {
            let mut plain = String::new();
            for (n, part) in line.split('"').enumerate() {
                if n.is_multiple_of(2) {
                    plain.push_str(part);
                }
            }
            let plain = plain.split("//").next().unwrap_or_default();
            if plain.trim() == "#[cfg(test)]" {
                (skipping, depth) = (true, 0);
                continue;
            }
            if !skipping {
                lines.push(plain.to_owned());
                continue;
            }
            let opened = plain.matches('{').count() as i32;
            depth += opened - plain.matches('}').count() as i32;
            skipping = depth > 0 || (opened == 0 && !plain.contains(';'));
        }
        lines
    }

    /// What a page does that is for the crates below to do.
    fn computes(line: &str) -> Option<&'static str> {
        let has = |all: &[&str]| all.iter().any(|it| line.contains(it));
        if has(&[
            "network::",
            "chain::element",
            "chain::w",
            "metrology::conforms",
            "metrology::doubt",
        ]) {
            return Some("reaches below what it may use");
        }
        if has(&[
            ".exp()", ".ln()", ".ln_1p()", ".sqrt()", ".powi(", ".powf(", ".hypot(",
        ]) {
            return Some("calculates");
        }
        if has(&["Finding {", "Group {", "Action {", "Answer {"])
            && !line.contains("struct")
            && !line.contains("->")
        {
            return Some("makes up a finding of its own");
        }
        let (_, behind) = line.split_once("probability")?;
        let behind = behind.trim_start_matches([')', ' ']);
        let sums =
            behind.starts_with(['*', '+', '-', '/']) || has(&["sum()", "product()", "1.0 -"]);
        sums.then_some("calculates with probabilities")
    }

    /// `web` shows what comes from below: findings, answers, documents. The geometry of its drawings is its own.
    #[test]
    fn no_page_computes_anything() {
        for (line, what) in [
            (
                "let both = a.probability * b.probability;",
                "calculates with probabilities",
            ),
            (
                "let rest = 1.0 - group.probability;",
                "calculates with probabilities",
            ),
            ("let ratio = it.weight.exp();", "calculates"),
            ("found.push(Finding {", "makes up a finding of its own"),
            (
                "let order = network::Order::of(topology);",
                "reaches below what it may use",
            ),
        ] {
            assert_eq!(computes(line), Some(what), "this test has to see {line}");
        }
        let mut misses = Vec::new();
        for (path, text) in tracked() {
            let is_page = path.starts_with("crates/web/src/") && path.ends_with(".rs");
            // compiled for tests only
            if !is_page || path.ends_with("pages/samples.rs") || path.ends_with("pages/rendered.rs")
            {
                continue;
            }
            for line in working_lines(&text) {
                if let Some(what) = computes(&line) {
                    misses.push(format!("{path} {what}: {}", line.trim()));
                }
            }
        }
        assert!(misses.is_empty(), "{}", misses.join("\n"));
    }
}
