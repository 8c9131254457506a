//! What an operating system reports of its hardware: three invented machines in each format, and what cannot be used.

use proptest::prelude::*;
use site::file::{Form, read_site};
use site::inventory::{Inventory, LONGEST, Report, read};
use site::machine::Build;

const OFFICE: &[u8] = include_bytes!("data/inventory/office.json");
const TOWER: &[u8] = include_bytes!("data/inventory/tower.json");
const PORTABLE: &[u8] = include_bytes!("data/inventory/portable.json");
const OFFICE_TEXT: &[u8] = include_bytes!("data/inventory/office.txt");
const TOWER_TEXT: &[u8] = include_bytes!("data/inventory/tower.txt");
const PORTABLE_TEXT: &[u8] = include_bytes!("data/inventory/portable.txt");

fn understood(bytes: &[u8]) -> Inventory {
    read(bytes, "report").unwrap_or_else(|it| panic!("{it}"))
}

/// Parts as one would say them: `2 memory DDR4`, `1 processor "Larkspur"`.
fn said(build: &Build) -> Vec<String> {
    let one = |it: &site::machine::Part| {
        let mut text = format!("{} {}", it.count, it.kind.name());
        if let Some(generation) = it.generation {
            text += &format!(" {}", generation.name());
        }
        if let Some(label) = &it.label {
            text += &format!(" {label:?}");
        }
        text
    };
    build.parts.iter().map(one).collect()
}

fn left_out(found: &Inventory, word: &str) -> bool {
    found.left_out.iter().any(|it| it.contains(word))
}

#[test]
fn three_invented_machines_are_read_from_a_tree() {
    let office = understood(OFFICE);
    assert_eq!(office.report, Report::Lshw);
    assert_eq!(
        said(&office.build),
        [
            "1 processor \"Larkspur 6-core 3.1\"",
            "1 board \"HB-310 (invented)\"",
            "2 memory DDR4",
            "1 solid-state \"Quarry SSD 500 (invented)\"",
            "1 optical \"Disc writer\"",
        ]
    );
    // the supply's figure has no unit, the stick may be gone tomorrow, graphics are on the board's own bus
    assert_eq!(office.supply, None);
    for word in [
        "in which unit",
        "USB",
        "own bus",
        "controllers",
        "not told: fans",
        "processor's power",
    ] {
        assert!(left_out(&office, word), "{word}: {:?}", office.left_out);
    }
    let tower = understood(TOWER);
    assert_eq!(
        said(&tower.build),
        [
            "1 processor \"Larkspur 16-core\"",
            "1 board \"KW-X (invented)\"",
            "4 memory DDR5",
            "2 disk \"Millstone 4T (invented)\"",
            "1 solid-state-slot \"Quarry M2 1T (invented)\"",
            "1 graphics \"Meadow 70 (invented)\"",
        ]
    );
    let portable = understood(PORTABLE);
    assert_eq!(
        said(&portable.build),
        [
            "1 processor \"Larkspur U\"",
            "1 board \"DN13 (invented)\"",
            "1 memory DDR4"
        ]
    );
    for word in [
        "portable",
        "soldered",
        "Plain 256: it is not told",
        "socket that is empty",
    ] {
        assert!(left_out(&portable, word), "{word}: {:?}", portable.left_out);
    }
}

#[test]
fn three_invented_machines_are_read_from_text() {
    let office = understood(OFFICE_TEXT);
    assert_eq!(office.report, Report::Smbios);
    assert_eq!(
        said(&office.build),
        [
            "1 processor \"Larkspur 6-core 3.1\"",
            "1 board \"HB-310 (invented)\"",
            "2 memory DDR4"
        ]
    );
    assert_eq!(office.supply, None);
    assert!(
        left_out(&office, "its output is not")
            && left_out(&office, "drives")
            && !left_out(&office, "slot")
    );
    let tower = understood(TOWER_TEXT);
    assert_eq!(
        said(&tower.build),
        [
            "1 processor \"Larkspur 16-core\"",
            "1 board \"KW-X (invented)\"",
            "4 memory DDR5",
            "2 fan"
        ]
    );
    assert_eq!(tower.supply.map(|it| it.si()), Some(750.0));
    assert!(left_out(&tower, "slot PCIEX16_1 is in use") && !left_out(&tower, "fans"));
    let portable = understood(PORTABLE_TEXT);
    assert_eq!(
        said(&portable.build),
        [
            "1 processor \"Larkspur U\"",
            "1 board \"DN13 (invented)\"",
            "1 memory DDR4"
        ]
    );
    assert!(left_out(&portable, "portable") && left_out(&portable, "soldered"));
}

/// The table that is printed goes into a site file as it is, and says the same.
#[test]
fn prop_the_table_reads_back_as_what_was_understood() {
    const SITE: &str = "format = 1\nname = \"Invented\"\nregion = \"north-america\"\n\n[[circuit]]\nid = \"A\"\n\n[[outlet]]\nid = \
                        \"desk\"\ncircuit = \"A\"\n\n";
    for bytes in [
        OFFICE,
        TOWER,
        PORTABLE,
        OFFICE_TEXT,
        TOWER_TEXT,
        PORTABLE_TEXT,
    ] {
        let found = understood(bytes);
        let text = format!("{SITE}{}", found.table(Some("pc"), Some("desk")));
        let site = read_site(&text, "site.toml", Form::Toml)
            .unwrap_or_else(|it| panic!("{it}\n{text}"))
            .site;
        let machine = site.machines.first().expect("the machine");
        assert_eq!(machine.build, found.build, "{text}");
        let rating = machine.supply.as_ref().and_then(|it| it.rating);
        assert_eq!(rating, found.supply);
    }
    // without a name the keys that are missing stand there as comments
    let bare = understood(OFFICE).table(None, None);
    assert!(
        bare.contains("# id = ") && bare.contains("# at = "),
        "{bare}"
    );
}

#[test]
fn pin_what_cannot_be_used_is_told_with_line_and_column() {
    let deep = format!("{}{}", "[".repeat(100_000), "]".repeat(100_000));
    let nested = format!(
        "{}{}",
        "{\"class\":\"bus\",\"children\":[".repeat(70),
        "]}".repeat(70)
    );
    let truncated = &OFFICE[..OFFICE.len() / 2];
    let structure = "Handle 0x0001, DMI type 17, 40 bytes\nMemory Device\n";
    let cases: Vec<(Vec<u8>, &str)> = vec![
        (
            b"".to_vec(),
            "report:1:1  no structure of SMBIOS stands here, and no JSON",
        ),
        (b"[]".to_vec(), "report:1:1  the list is empty"),
        (
            b"[1]".to_vec(),
            "report:1:2  a node of hardware is wanted here, found a bare number",
        ),
        (b"{}".to_vec(), "report:1:1  this node has no class"),
        (
            b"{\"class\": 5}".to_vec(),
            "report:1:11  class is a bare number, and a text is wanted",
        ),
        (
            b"{\"class\":\"system\",\n \"children\": {}}".to_vec(),
            "report:2:14  children is a table, and a list is wanted",
        ),
        (
            b"{\"class\":\"system\",\"class\":\"bus\"}".to_vec(),
            "report:1:19  key \"class\" stands here twice",
        ),
        (
            b"{\"class\":\"system\", \"id\": [1]}".to_vec(),
            "report:1:26  id is a list, and a text is wanted",
        ),
        (
            b"{\"class\":\"sys\ntem\"}".to_vec(),
            "report:2:1  control character",
        ),
        (deep.into_bytes(), "recursion limit exceeded"),
        (nested.into_bytes(), "recursion limit exceeded"),
        (truncated.to_vec(), "EOF while parsing"),
        (
            b"{\"class\": \"a\"} {".to_vec(),
            "report:1:16  trailing characters",
        ),
        (
            b"ok\nab\xff\xfe".to_vec(),
            "report:2:3  the report is not UTF-8 from here on",
        ),
        (
            b"\xff\xfe{\0".to_vec(),
            "report:1:1  the report is not UTF-8 from here on",
        ),
        (vec![b' '; LONGEST + 1], "the report is longer than 16 MiB"),
        (
            b"/dev/mem: Permission denied\n".to_vec(),
            "no structure of SMBIOS stands here",
        ),
        (
            b"Handle 0x0001, DMI type x, 4 bytes\n".to_vec(),
            "report:1:1  the type of this structure cannot be read",
        ),
        (
            b"Handle 0x0001, DMI type 4, 4 bytes\nProcessor\n\tStatus: \x1b[2J\n".to_vec(),
            "report:3:10  a control character",
        ),
        (
            format!("{structure}\tSize: 8 potatoes\n").into_bytes(),
            "report:3:1  memory device: \"8 potatoes\" is no size of memory",
        ),
        (
            format!("{structure}\tSize: 8 GB\n\tSize: 16 GB\n").into_bytes(),
            "report:4:1  \"Size\" stands twice",
        ),
        (
            format!("{structure}\t<TRUNCATED>\n").into_bytes(),
            "report:3:1  the structure is cut off here",
        ),
        (
            format!("{structure}\tSize: 8 GB\nhalf a li\n").into_bytes(),
            "report:4:1  this line belongs to nothing before it",
        ),
        (
            format!("{structure}\nInvalid entry length (0). DMI table is broken! Stop.\n")
                .into_bytes(),
            "report:4:1  the table is broken",
        ),
        (
            b"Handle 0x0001, DMI type 39, 4 bytes\nSupply\n\tMax Power Capacity: lots\n".to_vec(),
            "report:3:1  power supply: \"lots\" is no power",
        ),
    ];
    let misses: Vec<String> = cases
        .iter()
        .filter_map(|(bytes, wanted)| match read(bytes, "report") {
            Ok(_) => Some(format!("understood, for {wanted}")),
            Err(it) if it.to_string().contains(wanted) => None,
            Err(it) => Some(format!("{it} for {wanted}")),
        })
        .collect();
    assert!(misses.is_empty(), "{misses:#?}");
}

/// Lines of a report, in any order and cut anywhere.
fn lines() -> impl Strategy<Value = Vec<u8>> {
    let line = prop_oneof![
        "Handle 0x[0-9A-F]{4}, DMI type [0-9]{1,3}, [0-9]{2} bytes",
        "(Memory Device|Processor Information|System Power Supply)",
        "\t(Size|Status|Type|Version|Form Factor|Max Power Capacity): [ -~]{0,20}",
        "\t(Size: (8 GB|8192 MB|None)|Status: Populated, Enabled|Type: DDR4)",
        "",
        "[ -~\\t]{0,30}",
    ];
    proptest::collection::vec(line, 0..40).prop_map(|it| it.join("\n").into_bytes())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn prop_any_bytes_are_answered(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        let _ = read(&bytes, "report");
    }

    #[test]
    fn prop_any_lines_are_answered(bytes in lines()) {
        if let Ok(found) = read(&bytes, "report") {
            let table = found.table(None, None);
            prop_assert!(!table.contains('\u{1b}'), "{}", table);
        }
    }

    /// A sound report with some bytes changed, or cut off: never a panic, and never more parts than there were nodes.
    #[test]
    fn prop_a_spoilt_report_is_answered(which in 0usize..6, cut in 0.0f64..1.0, at in 0.0f64..1.0, byte in any::<u8>()) {
        let whole = [OFFICE, TOWER, PORTABLE, OFFICE_TEXT, TOWER_TEXT, PORTABLE_TEXT][which];
        let mut bytes = whole.to_vec();
        let place = (at * (bytes.len() - 1) as f64) as usize;
        bytes[place] = byte;
        if cut > 0.5 {
            bytes.truncate((cut * bytes.len() as f64) as usize);
        }
        if let Ok(found) = read(&bytes, "report") {
            let n_parts: u32 = found.build.parts.iter().map(|it| it.count).sum();
            prop_assert!(n_parts <= 12, "{}", n_parts);
        }
    }
}
