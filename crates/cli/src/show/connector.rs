//! A connector drawn in characters, as seen from the side that is probed.

use site::connector::{Connector, Held};

use crate::screen::{Looks, Screen};

/// Columns of a cell, its left line included: twelve of them fit a page of 80.
const CELL: usize = 6;
/// So many cells fit.
const WIDEST: usize = 12;

/// Draws a connector: numbers above signals, row by row; words only where no source shows how it lies.
pub fn drawing(screen: &mut Screen, it: &Connector) {
    let seen = &it.seen;
    let says = format!("Seen from {}.", seen.says.value);
    if seen.rows.is_empty() {
        let mut says = seen.says.value.clone();
        if let Some(first) = says.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        screen.paragraph(2, &format!("{says}."));
        return;
    }
    screen.paragraph(2, &says);
    let most = seen.rows.iter().map(Vec::len).max().unwrap_or(0);
    let piece = if most > WIDEST {
        most.div_ceil(2)
    } else {
        most.max(1)
    };
    if most > WIDEST {
        screen.paragraph(
            2,
            "It is one row, drawn in two pieces, one below the other.",
        );
    }
    screen.verbatim(&format!("  {}", edge(&seen.edge, piece * CELL + 1)));
    for row in seen.rows.iter().flat_map(|row| row.chunks(piece)) {
        let line = format!(
            "  {}+",
            format!("+{}", "-".repeat(CELL - 1)).repeat(row.len())
        );
        let cells = |text: &dyn Fn(&String) -> String| -> String {
            let cell = |number: &String| format!("|{:<1$}", text(number), CELL - 1);
            format!("  {}|", row.iter().map(cell).collect::<String>())
        };
        let signal = |number: &String| it.pin(number).map_or("", |it| it.signal.short()).to_owned();
        screen.verbatim(&line);
        screen.verbatim(&cells(&|number| number.clone()));
        screen.verbatim(&cells(&signal));
        screen.verbatim(&line);
    }
    screen.hanging(
        "  ",
        Looks::Plain,
        "From the other side each row runs the other way.",
        Looks::Faint,
    );
}

/// What stands at the upper edge: a latch in the middle, a key at the left, bevelled corners.
fn edge(what: &str, width: usize) -> String {
    let text = format!("[{what}]");
    match what {
        "key" => text,
        _ => format!("{text:^width$}").trim_end().to_owned(),
    }
}

/// Limits in one cell: `11.4 V to 12.6 V (ATX 0.9 to ATX12V 2.x); ...`.
pub fn limits_in_words(limits: &[Held]) -> String {
    let one = |it: &Held| match it.when.as_str() {
        "" => it.limit.says.clone(),
        when => format!("{} ({when})", it.limit.says),
    };
    match limits {
        [] => "none published".to_owned(),
        _ => limits.iter().map(one).collect::<Vec<_>>().join("; "),
    }
}
