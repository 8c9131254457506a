//! Open neutral on a run: the return conductor is broken; what hangs behind it floats, loads pull it to line voltage.

use chain::alter::{Alteration, Ohmic};
use chain::element::Conductor;
use site::finding::{Action, Use, Verdict, When, Who};
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "open-neutral-run",
    says: "the {neutral} is broken between {before} and {at}",
    sits: Sits::Run,
    severity: Severity::LogUniform(3e4, 1e9),
    prevalence: Prevalence::judged(2e-3, "our guess, per run of a site that somebody was called to"),
    alters: |place, _| {
        Some(vec![Alteration::Series { at: place.at, of: Conductor::Neutral, ohms: Ohmic::Severity(1.0) }])
    },
    misreads: Misreads::Nothing,
    steps: &[Step {
        from: 0.0,
        verdict: Verdict::Danger,
        action: Action { use_: Use::Stop, who: Who::Electrician, when: When::Now },
        harm: Harm { shock: 0.4, fire: 0.1, equipment: 0.2 },
    }],
    mends: "A licensed electrician finds and remakes the broken {neutral} between {before} and {at}.",
    caution: "The {neutral} contact may be at full {line} voltage although equipment seems dead: do not touch it, unplug what is behind it.",
    reach: Reach::Circuit,
    signs: &[(Kind::Flicker, 0.25), (Kind::Buzzing, 0.1), (Kind::Burnt, 0.05), (Kind::Warm, 0.05)],
};
