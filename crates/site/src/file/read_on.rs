//! A visit that grew at its end, read on from where it was read to: a phone tells one reading, not the visit again.

use super::problem::{Log, Problems};
use super::visit_from_file;
use super::written_visit::VisitFile;
use crate::model::Site;
use crate::visit::{ReadingIx, Visit};

/// Reads rows that came behind those of a visit. `file` has the head that the visit was read with, and the new rows only.
///
/// # Errors
/// Everything that is wrong with the new rows, at once; the visit is then as it was.
pub fn read_on(
    visit: &mut Visit,
    mut file: VisitFile,
    name: &str,
    site: &Site,
) -> Result<(), Problems> {
    // what a row corrects stands above it: in the file, or in what was read before
    let corrected: Vec<Option<String>> = file
        .reading
        .iter_mut()
        .map(|it| it.corrects.take())
        .collect();
    let mut new = visit_from_file(&file, name, site)?;
    let mut log = Log::without_text(name);
    let n_before = visit.readings.len();
    for (n, old) in corrected.into_iter().enumerate() {
        let Some(old) = old else { continue };
        let above = new.readings[..n].iter().rposition(|it| it.id == old);
        let before = || visit.readings.iter().rposition(|it| it.id == old);
        match above.map(|it| it + n_before).or_else(before) {
            Some(it) => new.readings[n].corrects = Some(ReadingIx(it)),
            None => {
                let element = format!("reading \"{}\"", new.readings[n].id);
                let what = format!("corrects \"{old}\", which is not a reading before it");
                let hint = "name a reading of this visit".to_owned();
                log.add(0..0, &element, what, Some(hint));
            }
        }
    }
    if !log.is_clean() {
        return Err(log.close());
    }
    // a meter has a low-impedance input as soon as one reading was taken with it
    for (used, now) in visit.meters.iter_mut().zip(new.meters) {
        if used.meter.low_impedance_input().is_none() && now.meter.low_impedance_input().is_some() {
            *used = now;
        }
    }
    visit.readings.append(&mut new.readings);
    visit.observations.append(&mut new.observations);
    Ok(())
}
