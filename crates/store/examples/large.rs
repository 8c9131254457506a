//! How long a page about a large site waits for the store: `cargo run --release -p store --example large -- 500 20000`.

use std::fmt::Write;
use std::time::Instant;

use site::file::written_visit::{Reading, VisitFile};
use store::{Key, Said, Seq, SiteId, Store, VisitId};
use uuid::Uuid;

#[tokio::main]
async fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let mut number = |usual| {
        arguments
            .next()
            .and_then(|it| it.parse().ok())
            .unwrap_or(usual)
    };
    let (n_outlets, n_readings): (usize, usize) = (number(500), number(20_000));
    let folder = tempfile::tempdir()?;
    let path = folder.path().join("wattwright.db");
    let (site, visit) = (SiteId(Uuid::from_u128(1)), VisitId(Uuid::from_u128(2)));
    let now = jiff::Timestamp::UNIX_EPOCH;

    let store = Store::open(&path).await?;
    store.create_site(site, &text(n_outlets), now).await?;
    let began = Instant::now();
    store
        .open_visit(visit, site, &file(n_outlets, n_readings), now)
        .await?;
    println!(
        "{n_readings} readings at {n_outlets} outlets, taken in as one document: {:.0?}",
        began.elapsed()
    );
    let (began, n) = (Instant::now(), 500);
    for it in 0..n {
        let said = Said::Reading(reading(it % n_outlets));
        store
            .append(
                visit,
                Key(Uuid::from_u128(1 << 64 | it as u128)),
                &said,
                now,
            )
            .await?;
    }
    println!(
        "{n} more, one by one, each on the disk before the next: {:.2?} each",
        began.elapsed() / n as u32
    );
    store.close().await;

    let began = Instant::now();
    let store = Store::open(&path).await?;
    let size = std::fs::metadata(&path)?.len();
    println!(
        "opened, {} MB checked whole: {:.1?}",
        size >> 20,
        began.elapsed()
    );
    for turn in ["first", "again"] {
        println!("{turn}:");
        let began = Instant::now();
        store.sites().await?;
        println!("  list of sites: {:.1?}", began.elapsed());
        let began = Instant::now();
        let document = store.site(site).await?;
        println!(
            "  the site, {} outlets: {:.1?}",
            document.document.site.outlets.len(),
            began.elapsed()
        );
        let began = Instant::now();
        let record = store.visit(visit).await?;
        println!(
            "  the visit, {} rows: {:.1?}",
            record.entries.len(),
            began.elapsed()
        );
        let began = Instant::now();
        let read = record.visit()?;
        println!(
            "  what it means, {} readings: {:.1?}",
            read.readings.len(),
            began.elapsed()
        );
        let began = Instant::now();
        store.entries(visit, Seq(record.listing.last.0 - 5)).await?;
        println!("  its last five rows: {:.1?}", began.elapsed());
        let began = Instant::now();
        let text = store.visit_text(visit).await?;
        println!(
            "  its document, {} kB: {:.1?}",
            text.len() / 1000,
            began.elapsed()
        );
    }
    Ok(())
}

/// An invented site: ten outlets on each circuit, each after the one before.
fn text(n_outlets: usize) -> String {
    let mut text = "format = 1\nname = \"Invented\"\nregion = \"north-america\"\n".to_owned();
    for circuit in 0..n_outlets.div_ceil(10) {
        let _ = writeln!(
            text,
            "\n[[circuit]]\nid = \"C{circuit}\"\nbreaker = \"20 A\"\ncable = \"12 AWG copper\""
        );
    }
    for outlet in 0..n_outlets {
        let _ = writeln!(
            text,
            "\n[[outlet]]\nid = \"o{outlet}\"\ncircuit = \"C{}\"\nrun = \"6 m\"",
            outlet / 10
        );
        if outlet % 10 > 0 {
            let _ = writeln!(text, "after = \"o{}\"", outlet - 1);
        }
    }
    text
}

fn file(n_outlets: usize, n_readings: usize) -> VisitFile {
    VisitFile {
        format: 1,
        reading: (0..n_readings).map(|it| reading(it % n_outlets)).collect(),
        ..VisitFile::default()
    }
}

fn reading(outlet: usize) -> Reading {
    Reading {
        at: Some(format!("o{outlet}")),
        pair: Some("line-neutral".to_owned()),
        value: format!("{}.{} V", 118 + outlet % 4, outlet % 10),
        ..Reading::default()
    }
}
