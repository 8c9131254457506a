//! Rows are counted and read from the last one known: those of another process too, and never those that were taken back.

mod support;

use store::{Seq, Store};
use support::{Place, at, clinic, key, read, seen, site_id, visit_id, wait};

#[test]
fn rows_of_another_process_are_counted_and_read_from_the_last_one_known() {
    let place = Place::new();
    wait(async {
        let one = clinic(&place.store()).await;
        let other = Store::open(&place.store()).await.expect("it is there");
        let mut known = Seq(0);
        for n in 0..6 {
            let (writes, looks) = if n % 2 == 0 {
                (&one, &other)
            } else {
                (&other, &one)
            };
            let row = if n == 4 {
                seen("exam-1", "warm")
            } else {
                read("exam-1", "121 V")
            };
            let told = writes.append(visit_id(1), key(n), &row, at(n as i64));
            told.await.expect("it reads");
            let latest = looks.latest_visit(site_id(1)).await.expect("read");
            let listing = latest.expect("there is one");
            let n_seen = usize::from(n >= 4);
            assert_eq!(listing.n_readings, n as usize + 1 - n_seen);
            assert_eq!(listing.n_observations, n_seen);
            let more = looks.visit_behind(visit_id(1), known).await.expect("read");
            assert_eq!(more.entries.len(), 1, "one row came");
            assert_eq!(more.listing, listing);
            known = more.listing.last;
            assert_eq!(known, Seq(n as i64 + 1));
        }
        let whole = one.visit(visit_id(1)).await.expect("read");
        assert_eq!(whole.entries.len(), 6);
        // refused: nothing of it is counted
        let slip = read("nowhere", "121 V");
        let refused = one.append(visit_id(1), key(99), &slip, at(9)).await;
        assert!(refused.is_err());
        for store in [&one, &other] {
            let latest = store.latest_visit(site_id(1)).await.expect("read");
            assert_eq!(latest.map(|it| it.last), Some(Seq(6)));
            assert!(store.holds(key(5)).await.expect("read"));
            assert!(!store.holds(key(99)).await.expect("read"));
        }
    });
}
