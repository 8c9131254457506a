//! What a led visit is worth: one line of figures.

use serde::Serialize;
use site::finding::{Action, Use, Verdict, Who};

use crate::led::{Led, lead};
use crate::right::{Hazard, worst};
use crate::same::{holds, of_answer, of_truth};
use crate::sim::story::{Sort, Story};
use crate::usual;

/// One visit's figures.
#[derive(Clone, Debug, Serialize)]
pub struct Scored {
    /// Number of the visit; with the seed it can be drawn again.
    pub number: u64,
    /// What kind of visit.
    pub sort: Sort,
    /// What is wrong, in words of identifiers.
    pub truth: Vec<String>,
    /// How bad, fault by fault.
    pub how_bad: Vec<f64>,
    /// Groups: probability, and whether the truth is in it. Something not in the catalogue counts as one that is not true.
    pub groups: Vec<(f64, bool)>,
    /// Place of the true group, from 0; none where it is not told.
    pub place: Option<usize>,
    /// Leading cause as answered.
    pub leading: Vec<String>,
    /// The truth is the leading cause itself, not only one that no check tells from it.
    pub leads: bool,
    /// Members of the leading group.
    pub members: usize,
    /// The hazard that is there.
    pub hazard: Hazard,
    /// Mildest use that is right.
    pub right: Use,
    /// The action that the visit ended with.
    pub action: Action,
    /// Its verdict.
    pub verdict: Verdict,
    /// Probability of something not in the catalogue.
    pub not_in_catalogue: f64,
    /// Probability given to a hazard, shock or fire, whichever is likelier.
    pub dangerous: f64,
    /// Led checks.
    pub checks: usize,
    /// Their keys.
    pub keys: Vec<String>,
    /// Readings of the usual order until something is abnormal.
    pub usual: usize,
    /// Readings of the usual order to the same certainty; counted for one visit in [`SETTLED`].
    pub settled: Option<usize>,
    /// Checks that this crate could not make.
    pub unknown_checks: usize,
}

impl Scored {
    /// The true group leads.
    #[must_use]
    pub fn first(&self) -> bool {
        self.place == Some(0)
    }

    /// A hazard is there and stays in use.
    #[must_use]
    pub fn missed_danger(&self) -> bool {
        self.hazard != Hazard::None && self.action.use_ != Use::Stop
    }

    /// Nothing is wrong with the installation and it is taken out of use, restricted, or somebody is called.
    #[must_use]
    pub fn needless_alarm(&self) -> bool {
        self.sort == Sort::Sound
            && (self.action.use_ != Use::Yes
                || self.action.who == Who::Electrician
                || self.action.who == Who::Utility)
    }

    /// Probability of what leads.
    #[must_use]
    pub fn leading_probability(&self) -> f64 {
        self.groups.iter().map(|g| g.0).fold(0.0, f64::max)
    }

    /// Whether what leads is true.
    #[must_use]
    pub fn leading_is_true(&self) -> bool {
        let best = self.groups.iter().max_by(|a, b| a.0.total_cmp(&b.0));
        best.is_some_and(|g| g.1)
    }
}

/// Leads and scores a visit.
#[must_use]
pub fn score(number: u64, story: Story, seed: u64) -> Scored {
    let usual = usual::readings(&story);
    let settled = number
        .is_multiple_of(SETTLED)
        .then(|| usual::settled(story.clone(), seed));
    let led = lead(story, seed);
    Scored {
        settled,
        ..of_led(number, &led, usual)
    }
}

/// Of so many visits one is also made in the usual order to its end, which takes some ten traces.
pub const SETTLED: u64 = 10;

/// The figures of a visit that was led.
#[must_use]
pub fn of_led(number: u64, led: &Led, usual: usize) -> Scored {
    let (world, answer) = (&led.story.world, &led.answer);
    let site = &world.premises.site;
    let truth = of_truth(site, &world.faults);
    let mut groups: Vec<(f64, bool)> = answer
        .causes
        .iter()
        .map(|g| (g.probability, holds(site, g, &truth)))
        .collect();
    let place = groups.iter().position(|g| g.1);
    // A place behind something not in the catalogue is not the first.
    let place = place.map(|p| p + usize::from(answer.not_in_catalogue > groups[p].0));
    groups.push((answer.not_in_catalogue, false));
    let lead = answer.causes.first();
    let (hazard, right) = worst(&world.faults);
    Scored {
        number,
        sort: led.story.sort,
        truth: world
            .faults
            .iter()
            .map(|f| format!("{}@{}", f.kind, f.at.key(site)))
            .collect(),
        how_bad: world.faults.iter().map(|f| f.how_bad).collect(),
        groups,
        place,
        leading: lead.map_or(Vec::new(), |g| {
            g.faults
                .iter()
                .map(|f| format!("{}@{}", f.kind, f.at))
                .collect()
        }),
        leads: lead.is_some_and(|g| of_answer(site, &g.faults) == truth),
        members: lead.map_or(0, |g| 1 + g.others.len()),
        hazard,
        right,
        action: answer.action,
        verdict: answer.verdict,
        not_in_catalogue: answer.not_in_catalogue,
        dangerous: answer.danger.shock.max(answer.danger.fire),
        checks: led.checks.len(),
        keys: led.checks.clone(),
        usual,
        settled: None,
        unknown_checks: led.unknown.len(),
    }
}
