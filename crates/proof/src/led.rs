//! A visit led by the engine: ask, do what it says, ask again, until it has nothing more to check.

use trace::Question;
use trace::answer::{Answer, Group};

use crate::sim::look::Check;
use crate::sim::story::Story;

/// Checks after which a visit ends.
pub const MOST: usize = 40;

/// How a led visit ended.
#[derive(Clone, Debug)]
pub struct Led {
    /// The last answer.
    pub answer: Answer,
    /// What led before the first check and after each.
    pub leaders: Vec<Option<Group>>,
    /// Keys of the checks made, in order.
    pub checks: Vec<String>,
    /// Keys that this crate could not make, told as `cannot`.
    pub unknown: Vec<String>,
    /// Minutes that the engine said the checks would take.
    pub minutes: f64,
    /// The story with everything read.
    pub story: Story,
}

/// Leads a visit to its end.
#[must_use]
pub fn lead(mut story: Story, seed: u64) -> Led {
    let (mut checks, mut unknown, mut minutes) = (Vec::new(), Vec::new(), 0.0);
    let mut leaders = Vec::new();
    loop {
        let question = Question {
            site: &story.world.premises.site,
            visit: &story.visit,
            skill: story.visit.skill,
            seed,
        };
        let answer = trace::trace(&question);
        leaders.truncate(checks.len());
        leaders.push(answer.causes.first().cloned());
        let next = answer
            .next
            .clone()
            .filter(|_| checks.len() < MOST && unknown.len() < MOST);
        let Some(next) = next else {
            return Led {
                answer,
                leaders,
                checks,
                unknown,
                minutes,
                story,
            };
        };
        match Check::of(&next.key, &story.world) {
            Some(check) => {
                story.world.look(check, &mut story.person, &mut story.visit);
                minutes += next.minutes;
                checks.push(next.key);
            }
            None => {
                story.visit.cannot.push(next.key.clone());
                unknown.push(next.key);
            }
        }
    }
}
