//! Connectors: which the parts need, which the supply has, which adapters may stand between.
//!
//! A contact carries `I / n`; n: contacts of that rail in all connectors that share the current. An adapter is sound
//! where what it offers may draw no more than the contacts that it is plugged into carry:
//! `P_allowed(to) ≤ Σ n_from I_rated V`. Ratings and allowances: `site::connector`. Held by: tests/plugs.rs.

use metrology::{Sourced, Watts};
use site::machine::{Build, Part, PartKind};
use site::plug::{Adapter, Plug};
use site::supply::{Guide, Rail, Supply};
use site::typical::Usuals;

use crate::rules::{Contacts, Rules};

/// A connector that a part needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// Which.
    pub plug: Plug,
    /// The part, as "graphics card".
    pub of: String,
}

/// How a need is met.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Met {
    /// By a connector of the supply: itself, or another that fits.
    By(Plug),
    /// By an adapter that lies ready.
    Through(Adapter),
    /// Not at all; an adapter that would be sound, where there is one.
    Not(Option<Adapter>),
}

/// What the parts of a machine need, one entry a connector.
pub fn needs(build: &Build, guide: Option<Guide>) -> Vec<Need> {
    let mut all = Vec::new();
    let board = build.parts.iter().any(|it| it.kind == PartKind::Board);
    let processor = build.parts.iter().any(|it| it.kind == PartKind::Processor);
    let assumed = (processor && !board).then(|| Part::of(PartKind::Board));
    for part in build.parts.iter().chain(&assumed) {
        let told: Vec<Plug> = part.needs.iter().flat_map(each).collect();
        let plugs = if told.is_empty() {
            usual(part, guide)
        } else {
            told
        };
        for _ in 0..part.count {
            all.extend(plugs.iter().map(|plug| Need {
                plug: *plug,
                of: part.kind.words(1).to_owned(),
            }));
        }
    }
    all
}

fn each(it: &site::plug::Plugs) -> impl Iterator<Item = Plug> + use<> {
    std::iter::repeat_n(it.plug, it.count as usize)
}

/// The connectors that a part of a kind usually needs.
fn usual(part: &Part, guide: Option<Guide>) -> Vec<Plug> {
    match part.kind {
        PartKind::Board if guide == Some(Guide::Only12) => vec![Plug::Main10],
        PartKind::Board => vec![Plug::Main24],
        PartKind::Processor => vec![Plug::Processor8],
        PartKind::Graphics => graphics(part),
        PartKind::Disk35
        | PartKind::Disk25
        | PartKind::Disk
        | PartKind::SolidState
        | PartKind::Optical
        | PartKind::Pump => vec![Plug::Sata],
        _ => Vec::new(),
    }
}

/// By what the slot leaves: 75 W, 150 W, both, twice 150 W, then the 12+4 connector.
fn graphics(part: &Part) -> Vec<Plug> {
    let usuals = Usuals::built_in();
    let told = part
        .power
        .or_else(|| Some(usuals.power(part.kind)?.value.0));
    let left = told.map_or(0.0, |it| (it - usuals.slot.value.0).si());
    match left {
        it if it <= 0.0 => Vec::new(),
        it if it <= 75.0 => vec![Plug::Graphics6],
        it if it <= 150.0 => vec![Plug::Graphics8],
        it if it <= 225.0 => vec![Plug::Graphics6, Plug::Graphics8],
        it if it <= 300.0 => vec![Plug::Graphics8, Plug::Graphics8],
        _ => vec![Plug::Graphics12],
    }
}

/// Power that a part may draw through the connectors of its own that it needs.
pub(crate) fn allowed(part: &Part) -> Watts {
    let told: Vec<Plug> = part.needs.iter().flat_map(each).collect();
    let plugs = if told.is_empty() {
        usual(part, None)
    } else {
        told
    };
    let rules = Rules::built_in();
    let each = plugs.iter().filter_map(|it| rules.contacts(*it)?.allowed);
    Watts::from_si(each.map(Watts::si).sum())
}

/// Connectors that fit where another is needed, the best first: halves of divided ones, and the older board connector.
fn stands_in(need: Plug) -> &'static [Plug] {
    match need {
        Plug::Main24 => &[Plug::Main20],
        Plug::Main20 => &[Plug::Main24],
        Plug::Processor8 => &[Plug::Processor4],
        Plug::Processor4 => &[Plug::Processor8],
        Plug::Graphics6 => &[Plug::Graphics8],
        _ => &[],
    }
}

/// Adapters that the trade sells; which of them are sound is computed.
const SOLD: [(&[Plug], Plug); 6] = [
    (&[Plug::Peripheral], Plug::Sata),
    (&[Plug::Peripheral], Plug::Graphics6),
    (&[Plug::Peripheral, Plug::Peripheral], Plug::Graphics6),
    (&[Plug::Peripheral, Plug::Peripheral], Plug::Graphics8),
    (&[Plug::Graphics8, Plug::Graphics8], Plug::Graphics12),
    (&[Plug::Sata], Plug::Peripheral),
];

/// Power that an adapter may be asked for, and that its contacts carry, with where that is from; `None` where the
/// contacts of one of its connectors are not known.
pub(crate) fn loading(
    adapter: &Adapter,
) -> Option<(Watts, Watts, &'static Sourced<metrology::Amps>)> {
    let rules = Rules::built_in();
    let to = rules.contacts(adapter.to)?;
    let from: Option<Vec<&'static Contacts>> =
        adapter.from.iter().map(|it| rules.contacts(*it)).collect();
    let from = from?;
    let carried: f64 = from.iter().map(|it| it.power(Rail::Plus12).si()).sum();
    let signalled: f64 = from.iter().filter_map(|it| it.allowed).map(Watts::si).sum();
    let asked = match to.allowed {
        // its signal pins say what it was made of
        Some(it) if adapter.to == Plug::Graphics12 && signalled > 0.0 => it.si().min(signalled),
        Some(it) => it.si(),
        None => to.power(Rail::Plus12).si(),
    };
    let weakest = from
        .iter()
        .min_by(|a, b| a.rating.value.si().total_cmp(&b.rating.value.si()))?;
    Some((
        Watts::from_si(asked),
        Watts::from_si(carried),
        &weakest.rating,
    ))
}

/// Whether its contacts carry what may be asked of it.
pub(crate) fn is_sound(adapter: &Adapter) -> bool {
    loading(adapter).is_some_and(|(asked, carried, _)| asked <= carried)
}

/// Each need with how it is met, the connectors of the supply being used once each.
pub(crate) fn seat(needs: &[Need], supply: &Supply) -> Vec<(Need, Met)> {
    let mut free: Vec<Plug> = supply.connectors.iter().flat_map(each).collect();
    let mut adapters = supply.adapters.clone();
    let mut met: Vec<Option<Met>> = needs
        .iter()
        .map(|it| take(&mut free, it.plug).then_some(Met::By(it.plug)))
        .collect();
    for (need, met) in needs.iter().zip(&mut met).filter(|it| it.1.is_none()) {
        let other = stands_in(need.plug).iter();
        let mut other = other.filter(|it| take(&mut free, **it));
        *met = other.next().map(|it| Met::By(*it));
    }
    for (need, met) in needs.iter().zip(&mut met).filter(|it| it.1.is_none()) {
        let ready = adapters
            .iter()
            .position(|it| it.to == need.plug && take_all(&mut free, &it.from));
        *met = Some(match ready {
            Some(ix) => Met::Through(adapters.remove(ix)),
            None => Met::Not(would_do(need.plug, &free)),
        });
    }
    let met = met.into_iter().map(|it| it.unwrap_or(Met::Not(None)));
    needs.iter().cloned().zip(met).collect()
}

fn take(free: &mut Vec<Plug>, plug: Plug) -> bool {
    let at = free.iter().position(|it| *it == plug);
    at.map(|it| free.swap_remove(it)).is_some()
}

fn take_all(free: &mut Vec<Plug>, plugs: &[Plug]) -> bool {
    let mut left = free.clone();
    let all = plugs.iter().all(|it| take(&mut left, *it));
    if all {
        *free = left;
    }
    all
}

/// A sound adapter for which connectors are left.
fn would_do(need: Plug, free: &[Plug]) -> Option<Adapter> {
    let sold = SOLD.iter().filter(|(_, to)| *to == need);
    let mut sold = sold.map(|(from, to)| Adapter {
        from: from.to_vec(),
        to: *to,
    });
    sold.find(|it| is_sound(it) && take_all(&mut free.to_vec(), &it.from))
}

/// An adapter in words.
pub(crate) fn says(adapter: &Adapter) -> String {
    let from: Vec<&str> = adapter.from.iter().map(|it| it.name()).collect();
    format!("{} to {}", from.join(" and "), adapter.to.name())
}
