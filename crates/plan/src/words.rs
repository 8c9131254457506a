//! What was found in one sentence each, for every face.

use site::finding::{Use, Verdict};

use crate::fit::{Fit, Standing};
use crate::judge::{number, percent};
use crate::lines::{Line, Of};

/// Whether it will do, or may stay in use, and whose it is.
pub fn head(fit: &Fit, standing: Standing) -> &'static str {
    match (standing, fit.verdict, fit.action.use_) {
        (Standing::InUse { .. }, Verdict::Good | Verdict::Advice, _) => {
            "It may stay in use: every limit holds."
        }
        (Standing::InUse { .. }, Verdict::Danger, _) => {
            "Take it out of use now. It is the technician's work; the supply itself is never opened."
        }
        (Standing::InUse { .. }, Verdict::Defect, _) => {
            "Do not run it under load until it is put right. It is the technician's work, within days."
        }
        (Standing::InUse { .. }, Verdict::Undecided, Use::Stop) => {
            "Leave it unplugged until it is settled. It is the technician's to look at, now."
        }
        (Standing::InUse { .. }, Verdict::Undecided, _) => {
            "It may stay in use; whether every limit holds is not known. It is the technician's to settle."
        }
        (Standing::Chosen { .. }, Verdict::Good | Verdict::Advice, _) => {
            "It will do: every limit holds."
        }
        (Standing::Chosen { .. }, Verdict::Danger, _) => {
            "Do not fit it like this: something would get hot or be destroyed."
        }
        (Standing::Chosen { .. }, Verdict::Defect, _) => "It will not do.",
        (Standing::Chosen { .. }, Verdict::Undecided, _) => "It may do; what is not known decides.",
    }
}

/// What gives way first, when, and how much is left.
pub fn gives_way(line: &Line) -> String {
    let unit = line.unit;
    let when = match line.of {
        Of::Inrush(_) => "when plugged in cold",
        _ => line.moment.words(),
    };
    format!(
        "{} {when}: {} ± {} {unit:?} of {} {unit:?}, holds with {}; margin {} ± {} {unit:?}, all could grow {} times",
        line.of.says(),
        number(line.demand),
        number(2.0 * line.u_demand),
        number(line.limit),
        percent(line.probability()),
        number(line.margin()),
        number(2.0 * line.u_margin()),
        number(line.growth())
    )
}
