//! The action with the least expected loss.
//!
//! `a* = argmin_a Σ_t P(t) L(a, t)`, t: what is true and what it asks for. Losses are counted in minutes of somebody's
//! time; harm is counted in many of them, so that a false alarm is preferred to a missed danger. All of it judgement.

use site::finding::{Action, Use, Verdict, When, Who};

use crate::fault::{Harm, Step};

/// Minutes that a certain harm weighs: 500 hours.
const HARM: f64 = 30_000.0;
/// What a fire and a loss of equipment count beside a shock: one touch makes a shock, a hot joint takes weeks of load and
/// is smelt on the way, equipment can be bought.
const FIRE: f64 = 0.4;
const EQUIPMENT: f64 = 0.1;
/// Minutes lost when something sound is taken out of use (a working day), something restricted is taken out of use, or
/// restricted.
pub(crate) const NEEDLESS_STOP: f64 = 480.0;
const STOP_FOR_RESTRICT: f64 = 90.0;
const NEEDLESS_RESTRICT: f64 = 180.0;
/// Minutes lost when a defect stays in unrestricted use.
const UNRESTRICTED: f64 = 120.0;
/// Minutes lost by calling somebody for nothing: half a working day; by somebody who is there acting for nothing.
const NEEDLESS_CALL: f64 = 240.0;
const NEEDLESS_ACT: f64 = 160.0;
/// Minutes lost by calling the wrong one; by nobody acting.
const WRONG_WHO: f64 = 90.0;
const NOBODY: f64 = 100.0;
/// Minutes lost for each step later, or earlier, than needed.
const LATER: f64 = 25.0;
const EARLIER: f64 = 10.0;
/// Minutes lost by the one who mends when the cause was named wrongly.
pub(crate) const WRONG_NAME: f64 = 140.0;

/// What is true, as far as deciding goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Truth {
    pub verdict: Verdict,
    pub action: Action,
    pub harm: Harm,
}

/// Nothing wrong.
pub(crate) const SOUND: Truth = Truth {
    verdict: Verdict::Good,
    action: Action {
        use_: Use::Yes,
        who: Who::Nobody,
        when: When::None,
    },
    harm: Harm {
        shock: 0.0,
        fire: 0.0,
        equipment: 0.0,
    },
};

/// Something that is not in the catalogue: what nobody understands stays out of use until somebody does.
pub(crate) const UNKNOWN: Truth = Truth {
    verdict: Verdict::Undecided,
    action: Action {
        use_: Use::Stop,
        who: Who::Electrician,
        when: When::Soon,
    },
    harm: Harm {
        shock: 0.05,
        fire: 0.02,
        equipment: 0.05,
    },
};

impl Truth {
    /// What one fault at one step asks for.
    pub fn of(step: &Step) -> Self {
        Truth {
            verdict: step.verdict,
            action: step.action,
            harm: step.harm,
        }
    }

    /// Two faults at once: the worse leads, harms add up.
    pub fn and(self, other: Truth) -> Self {
        let rank = |t: &Truth| (t.verdict, t.action.use_, t.action.when, t.action.who);
        let (lead, follow) = if rank(&self) >= rank(&other) {
            (self, other)
        } else {
            (other, self)
        };
        let both = |a: f64, b: f64| 1.0 - (1.0 - a) * (1.0 - b);
        Truth {
            verdict: lead.verdict,
            action: Action {
                use_: lead.action.use_.max(follow.action.use_),
                who: if lead.action.who == Who::Nobody {
                    follow.action.who
                } else {
                    lead.action.who
                },
                when: lead.action.when.max(follow.action.when),
            },
            harm: Harm {
                shock: both(lead.harm.shock, follow.harm.shock),
                fire: both(lead.harm.fire, follow.harm.fire),
                equipment: both(lead.harm.equipment, follow.harm.equipment),
            },
        }
    }

    /// True where a person or the building may come to harm.
    pub fn is_danger(&self) -> bool {
        self.verdict == Verdict::Danger
    }
}

/// Loss of an action where this is true, minutes.
pub(crate) fn loss(action: Action, truth: &Truth) -> f64 {
    let right = truth.action;
    let harm =
        (truth.harm.shock + FIRE * truth.harm.fire + EQUIPMENT * truth.harm.equipment).min(1.0);
    let in_use = match (action.use_, right.use_) {
        (Use::Yes, Use::Stop) => HARM * harm.max(0.05),
        (Use::Restricted, Use::Stop) => 0.4 * HARM * harm.max(0.05),
        (Use::Yes, Use::Restricted) => UNRESTRICTED,
        (Use::Restricted, Use::Yes) => NEEDLESS_RESTRICT,
        (Use::Stop, Use::Yes) => NEEDLESS_STOP,
        (Use::Stop, Use::Restricted) => STOP_FOR_RESTRICT,
        (Use::Yes, Use::Yes) | (Use::Restricted, Use::Restricted) | (Use::Stop, Use::Stop) => 0.0,
    };
    let who = match (action.who, right.who) {
        (a, r) if a == r => 0.0,
        (Who::Nobody, _) => NOBODY,
        (Who::Electrician | Who::Utility, Who::Nobody) => NEEDLESS_CALL,
        (_, Who::Nobody) => NEEDLESS_ACT,
        _ => WRONG_WHO,
    };
    let rank = |w: When| w as i32;
    let steps = f64::from(rank(action.when) - rank(right.when));
    let when = if steps < 0.0 {
        -steps * LATER
    } else {
        steps * EARLIER
    };
    in_use + who + when
}

/// Truths with their probabilities, and the actions worth weighing among them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Stakes {
    pub truths: Vec<Truth>,
    pub actions: Vec<Action>,
    /// By action, by truth.
    pub losses: Vec<Vec<f64>>,
}

impl Stakes {
    /// The number of a truth, made if it is new.
    pub fn truth(&mut self, truth: Truth) -> usize {
        self.truths
            .iter()
            .position(|t| *t == truth)
            .unwrap_or_else(|| {
                self.truths.push(truth);
                self.truths.len() - 1
            })
    }

    /// Lists the actions and their losses, once all truths are known.
    pub fn settle(&mut self) {
        self.actions.clear();
        for truth in &self.truths {
            for use_ in [Use::Yes, Use::Restricted, Use::Stop] {
                if use_ < truth.action.use_ && truth.action.who == Who::Nobody {
                    continue;
                }
                let action = Action {
                    use_,
                    ..truth.action
                };
                let makes_sense = (use_ == Use::Yes) || truth.action.when != When::None;
                let now = Action {
                    when: When::Now,
                    ..action
                };
                let list = if use_ == Use::Stop {
                    [now, now]
                } else {
                    [action, now]
                };
                for a in list {
                    let idle = a.who == Who::Nobody && (a.when != When::None || a.use_ != Use::Yes);
                    if makes_sense && !idle && !self.actions.contains(&a) {
                        self.actions.push(a);
                    }
                }
            }
        }
        if self.actions.is_empty() {
            self.actions.push(SOUND.action);
        }
        self.losses = self
            .actions
            .iter()
            .map(|a| self.truths.iter().map(|t| loss(*a, t)).collect())
            .collect();
    }

    /// The action of least expected loss for weights of the truths, and that loss.
    pub fn best(&self, weights: &[f64]) -> (Action, f64) {
        let mut best = (SOUND.action, f64::INFINITY);
        for (action, losses) in self.actions.iter().zip(&self.losses) {
            let sum: f64 = losses.iter().zip(weights).map(|(l, w)| l * w).sum();
            if sum < best.1 {
                best = (*action, sum);
            }
        }
        best
    }
}
