//! Line and neutral exchanged at one outlet: everything works, the switch of what is plugged in breaks the wrong side.

use chain::alter::Alteration;
use chain::element::{Conductor, Element};
use site::finding::{Action, Use, Verdict, When, Who};
use site::region::Polarity;
use site::visit::Reach;

use crate::fault::{Fault, Harm, Kind, Misreads, Prevalence, Severity, Sits, Step};

/// The fault.
pub const ITEM: Fault = Fault {
    id: "line-neutral-reversed-outlet",
    says: "{line} and {neutral} are exchanged at {at}",
    sits: Sits::Outlet,
    severity: Severity::One,
    prevalence: Prevalence::judged(8e-3, "our guess, per outlet of a site that somebody was called to"),
    alters: |place, _| {
        let Element::Outlet(o) = place.at else { return None };
        let receptacle = place.site.region.receptacles.get(place.site.outlets[o.0].receptacle)?;
        (receptacle.polarity == Polarity::Defined).then(|| {
            vec![Alteration::Exchange { at: place.at, one: Conductor::Line, other: Conductor::Neutral }]
        })
    },
    misreads: Misreads::Nothing,
    steps: &[Step {
        from: 0.0,
        verdict: Verdict::Defect,
        action: Action { use_: Use::Restricted, who: Who::Electrician, when: When::Soon },
        harm: Harm { shock: 0.05, fire: 0.01, equipment: 0.0 },
    }],
    mends: "A licensed electrician exchanges the two wires at {at}.",
    caution: "A lamp's or machine's switch no longer takes the voltage away: unplug before touching anything inside, use no screw-shell lamps here.",
    reach: Reach::Outlet,
    signs: &[(Kind::AfterWorks, 0.3)],
};
