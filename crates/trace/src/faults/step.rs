//! Short ways to say what follows from a fault, so that a danger without an end of use cannot be written.

use site::finding::{Action, Use, Verdict, When, Who};

use crate::fault::{Harm, Step};

impl Harm {
    /// Nobody and nothing comes to harm.
    pub(super) const NONE: Harm = Harm::of(0.0, 0.0, 0.0);

    /// Shock, fire, equipment.
    pub(super) const fn of(shock: f64, fire: f64, equipment: f64) -> Harm {
        Harm {
            shock,
            fire,
            equipment,
        }
    }
}

impl Step {
    /// Out of use, now.
    pub(super) const fn danger(from: f64, who: Who, harm: Harm) -> Step {
        Step {
            from,
            verdict: Verdict::Danger,
            action: act(Use::Stop, who, When::Now),
            harm,
        }
    }

    /// Wrong, and out of use until it is mended, within days.
    pub(super) const fn dead(from: f64, who: Who, harm: Harm) -> Step {
        Step {
            from,
            verdict: Verdict::Defect,
            action: act(Use::Stop, who, When::Soon),
            harm,
        }
    }

    /// Wrong, in use only as the caution says, within days.
    pub(super) const fn defect(from: f64, who: Who, harm: Harm) -> Step {
        Step {
            from,
            verdict: Verdict::Defect,
            action: act(Use::Restricted, who, When::Soon),
            harm,
        }
    }

    /// Not wrong, better mended with the next work.
    pub(super) const fn advice(from: f64, who: Who, harm: Harm) -> Step {
        Step {
            from,
            verdict: Verdict::Advice,
            action: act(Use::Yes, who, When::Plan),
            harm,
        }
    }

    /// The installation is sound.
    pub(super) const SOUND: Step = Step {
        from: 0.0,
        verdict: Verdict::Good,
        action: act(Use::Yes, Who::Nobody, When::None),
        harm: Harm::NONE,
    };

    /// The same, before anything else.
    pub(super) const fn now(mut self) -> Step {
        self.action.when = When::Now;
        self
    }
}

const fn act(use_: Use, who: Who, when: When) -> Action {
    Action { use_, who, when }
}
