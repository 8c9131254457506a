//! What one part draws: what is typical of its kind, and what was told of it.

use metrology::{Amps, Quantity, Watts};
use site::machine::{Part, PartKind};
use site::supply::{Feeds, Rail};
use site::typical::{Amount, Moment, Usuals};

use crate::plugs;

/// What one part draws from a rail: value and standard uncertainty at each moment, in amperes.
pub(super) struct Row {
    pub rail: Rail,
    pub through: Feeds,
    pub regulated: bool,
    pub at: [(f64, f64); 7],
}

pub(super) const SUSTAINED: usize = Moment::Sustained as usize;
pub(super) const START: usize = Moment::Start as usize;
const PEAK: usize = Moment::Peak as usize;
const EXCURSION: usize = Moment::Excursion as usize;
pub(super) const IDLE: usize = Moment::Idle as usize;

/// What one part of a kind draws, before what was told of this one, but for the power of its maker.
pub(super) fn rows(part: &Part, usuals: &Usuals) -> Vec<Row> {
    let power = match part.power {
        Some(it) => (it.si(), 0.0),
        None => usuals
            .power(part.kind)
            .map_or((0.0, 0.0), |it| (it.value.0.si(), it.value.1.si())),
    };
    let eta = usuals.regulator.value.0.si();
    let draws = usuals.draws(part.kind, part.generation);
    let row = |draw: &site::typical::Draw| {
        let volts = draw.rail.volts().si() * if draw.regulated { eta } else { 1.0 };
        let amps = |moment: usize| {
            let it = &draw.at[moment].value;
            match (it.value, it.u) {
                (Amount::Current(value), Amount::Current(u)) => (value.si(), u.si()),
                (Amount::Power(value), Amount::Power(u)) => (value.si() / volts, u.si() / volts),
                (Amount::Share(share), Amount::Share(u)) => {
                    let value = share.si() * power.0 / volts;
                    let both = (u.si() * power.0).hypot(share.si() * power.1);
                    (value, both / volts)
                }
                _ => (f64::NAN, f64::NAN), // not reached: value and doubt have one unit, which their reader asks for
            }
        };
        Row {
            rail: draw.rail,
            through: draw.through,
            regulated: draw.regulated,
            at: std::array::from_fn(amps),
        }
    };
    draws.map(row).collect()
}

/// Puts in what was told of a part.
pub(super) fn told(part: &Part, rows: &mut Vec<Row>, usuals: &Usuals) {
    let sheet = usuals.sheet.value.si();
    let eta = usuals.regulator.value.0.si();
    let watts = |rows: &[Row], moment: usize| -> f64 {
        let one = |it: &Row| {
            it.rail.volts().si() * it.at[moment].0 * if it.regulated { eta } else { 1.0 }
        };
        rows.iter().map(one).sum()
    };
    if !part.nameplate.is_empty() {
        nameplate(part, rows, sheet);
    } else if let (Some(power), None) = (part.power, usuals.power(part.kind)) {
        let factor = power.si() / watts(rows, SUSTAINED);
        for row in rows.iter_mut() {
            for (moment, it) in row.at.iter_mut().enumerate() {
                it.0 *= factor;
                it.1 *= factor;
                if sheet_holds(part, moment) {
                    it.1 = sheet * it.0;
                }
            }
        }
    }
    if let Some(peak) = part.peak {
        let moments: &[usize] = match part.kind {
            PartKind::Graphics => &[EXCURSION],
            _ => &[PEAK, EXCURSION],
        };
        for moment in moments {
            let factor = peak.si() / watts(rows, *moment);
            for row in rows.iter_mut() {
                let value = row.at[*moment].0 * factor;
                row.at[*moment] = (value, sheet * value);
            }
        }
    }
    if let Some(spin_up) = part.spin_up {
        let on_12 = rows.iter().any(|it| it.rail == Rail::Plus12);
        let rail = if on_12 { Rail::Plus12 } else { Rail::Plus5 };
        for row in rows.iter_mut().filter(|it| it.rail == rail) {
            row.at[START] = (spin_up.si(), sheet * spin_up.si());
        }
    }
}

/// The currents of a label are those of sustained work; what is usual at other moments follows them. A rail that is not
/// on the label is not drawn from.
fn nameplate(part: &Part, rows: &mut Vec<Row>, sheet: f64) {
    let on_label = |rail: Rail| part.nameplate.iter().find(|(it, _)| it.family() == rail);
    // what is not drawn at sustained work has no scale: the label alone says what is drawn
    rows.retain(|it| on_label(it.rail).is_some() && it.at[SUSTAINED].0 > 0.0);
    for (rail, current) in &part.nameplate {
        let (rail, current) = (rail.family(), current.si());
        match rows.iter_mut().find(|it| it.rail == rail) {
            Some(row) => {
                let factor = current / row.at[SUSTAINED].0;
                for (moment, it) in row.at.iter_mut().enumerate() {
                    it.0 *= factor;
                    it.1 *= factor;
                    if sheet_holds(part, moment) {
                        it.1 = sheet * it.0;
                    }
                }
            }
            None => {
                let mut at = [(current, sheet * current); 7];
                at[Moment::Off as usize] = (0.0, 0.0);
                at[IDLE] = (0.5 * current, 0.2 * current);
                at[Moment::Typical as usize] = at[IDLE];
                rows.push(Row {
                    rail,
                    through: through(part.kind),
                    regulated: false,
                    at,
                });
            }
        }
    }
}

/// Whether what stands on a sheet is what is drawn at a moment; a drive's start is another thing.
fn sheet_holds(part: &Part, moment: usize) -> bool {
    [SUSTAINED, PEAK, EXCURSION].contains(&moment) || (moment == START && !part.kind.spins())
}

/// The connectors by which a part of a kind is fed.
fn through(kind: PartKind) -> Feeds {
    match kind {
        PartKind::Processor => Feeds::Processor,
        PartKind::Graphics => Feeds::Graphics,
        PartKind::Disk35
        | PartKind::Disk25
        | PartKind::Disk
        | PartKind::SolidState
        | PartKind::Optical
        | PartKind::Pump => Feeds::Drives,
        _ => Feeds::Board,
    }
}

/// Share of a graphics card's power that comes through its slot: the usual, or as much more as its connectors are not
/// allowed to carry, up to what a slot may give.
pub(super) fn slot_share(part: &Part, usuals: &Usuals) -> f64 {
    let (most, usual) = usuals.slot.value;
    let power = part
        .power
        .or_else(|| Some(usuals.power(part.kind)?.value.0));
    let by_cable = plugs::allowed(part);
    match power {
        Some(it) if by_cable.si() > 0.0 => {
            let slot = (it - by_cable).si().clamp(usual.si(), most.si());
            (slot / it.si()).min(1.0)
        }
        _ => 1.0,
    }
}

pub(super) fn rests_on(part: &Part, usuals: &Usuals) -> String {
    let mut told = Vec::new();
    if !part.nameplate.is_empty() {
        let each = part.nameplate.iter();
        let each: Vec<String> = each
            .map(|(rail, it)| format!("{} {it}", rail.name()))
            .collect();
        told.push(format!("label {}", each.join(", ")));
    } else if let Some(it) = part.power {
        told.push(format!("{it} told"));
    }
    let mut say = |what: &str, value: Option<String>| {
        told.extend(value.map(|it| format!("{what} {it} told")));
    };
    say("peak", part.peak.map(Watts::exact));
    say("spin-up", part.spin_up.map(Amps::exact));
    if part.power.is_none()
        && part.nameplate.is_empty()
        && let Some(usual) = usuals.power(part.kind)
    {
        let (value, u) = usual.value;
        told.push(format!("{value} ± {} taken: {}", 2.0 * u, usual.cited()));
        return told.join("; ");
    }
    if told.is_empty() {
        let mut of = usuals.draws(part.kind, part.generation);
        let first = of.next().map(|it| it.at[SUSTAINED].cited());
        return format!("typical: {}", first.unwrap_or_default());
    }
    told.join("; ")
}
