//! The answer put together: the same for screen, file and paper.

use site::finding::{Action, Finding, Use, Verdict, When, Who};
use site::visit::{Contact, Input, Lamp, Observation, Pin, Sign, Told, Tone};

use crate::answer::{Answer, Danger, Evidence, FORMAT, FaultAt, Group, Member, Next, Outcome};
use crate::checks::{CheckKind, TEST_LOAD, Under};
use crate::decide::{SOUND, Truth, UNKNOWN};
use crate::fault::Severity;
use crate::forecast::{class_bounds, class_lamps};
use crate::next::{Proposed, check_of};
use crate::outlook::{Outlook, truths};
use crate::sieve::{Held, Sifted};
use crate::study::{Study, standing};
use crate::{explain, verdicts, words};

/// Groups told at most.
const TOLD_GROUPS: usize = 8;
/// Probability from which a fault is a finding.
const TOLD_FROM: f64 = 0.1;
/// Groups whose evidence is told reading by reading.
const EXPLAINED: usize = 4;

/// Puts one circuit's answer into words.
pub(crate) struct Teller<'t> {
    pub study: &'t Study<'t>,
    pub sifted: &'t Sifted,
    pub outlook: &'t Outlook,
}

impl Teller<'_> {
    pub fn answer(&self) -> Answer {
        let site = self.study.question.site;
        let action = self.action();
        let danger = self.danger();
        let dangerous: f64 = self
            .outlook
            .stakes
            .truths
            .iter()
            .zip(&self.outlook.weights)
            .filter(|(t, _)| t.is_danger())
            .map(|(_, w)| w)
            .sum();
        let mut causes: Vec<Group> = (0..self.outlook.groups.len().min(TOLD_GROUPS))
            .map(|g| self.group(g))
            .collect();
        let leaders: Vec<usize> = self
            .outlook
            .groups
            .iter()
            .take(EXPLAINED)
            .map(|g| g.members[0])
            .collect();
        for (group, evidence) in
            causes
                .iter_mut()
                .zip(explain::evidence(self.study, self.sifted, &leaders))
        {
            group.evidence = evidence;
        }
        let verdict = self.verdict(action, dangerous);
        let caution = self.caution(&causes, action);
        let because = self.because(&causes, action.use_);
        let mut findings = verdicts::verdicts(site, self.study.question.visit);
        // A reading out of its limits is no milder than what it is a sign of.
        for f in findings.iter_mut().filter(|f| f.verdict >= Verdict::Defect) {
            f.verdict = f.verdict.max(verdict);
            f.action.use_ = f.action.use_.max(action.use_);
            f.action.when = f.action.when.max(action.when);
        }
        findings.extend(self.cause_findings(&causes));
        findings.sort_by_key(|f| std::cmp::Reverse(f.verdict));
        let mut for_electrician: Vec<String> = Vec::new();
        for g in causes
            .iter()
            .filter(|g| g.action.who == Who::Electrician && g.probability > 0.02)
        {
            if !for_electrician.contains(&g.mends) {
                for_electrician.push(g.mends.clone());
            }
        }
        for_electrician.truncate(4);
        let mut work = self.sifted.work;
        work.solutions += self.outlook.work.solutions;
        work.factorings += self.outlook.work.factorings;
        work.refactorings += self.outlook.work.refactorings;
        Answer {
            format: FORMAT,
            verdict,
            action,
            headline: words::headline(site, action, dangerous),
            because,
            danger,
            caution,
            causes,
            not_in_catalogue: self.sifted.unknown,
            next: self.outlook.next.as_ref().map(|p| self.next(p)),
            for_electrician,
            findings,
            remarks: self.remarks(),
            parts: Vec::new(),
            work,
        }
    }

    /// The action of what was weighed, and out of use where harm was told in words that were not.
    fn action(&self) -> Action {
        let action = self.weighed_action();
        let harm = |it: &Observation| it.what == Sign::NotUnderstood(Tone::Harm);
        if !self.study.question.visit.observations.iter().any(harm) {
            return action;
        }
        Action {
            use_: Use::Stop,
            who: match action.who {
                Who::Nobody | Who::Owner => Who::Technician,
                who => who,
            },
            when: When::Now,
        }
    }

    /// The action with the least expected loss; what is not in the catalogue never makes it milder than what is.
    fn weighed_action(&self) -> Action {
        if self.study.witnesses.is_empty() {
            // Somebody was called, and nothing is known yet: neither out of use nor as if nothing were.
            return Action {
                use_: Use::Restricted,
                who: Who::Technician,
                when: When::Now,
            };
        }
        let stakes = &self.outlook.stakes;
        let (mut action, _) = stakes.best(&self.outlook.weights);
        let known: Vec<f64> = stakes
            .truths
            .iter()
            .zip(&self.outlook.weights)
            .map(|(t, w)| if *t == UNKNOWN { 0.0 } else { *w })
            .collect();
        let sum: f64 = known.iter().sum();
        if sum > 0.0 {
            let known: Vec<f64> = known.iter().map(|w| w / sum).collect();
            let (careful, _) = stakes.best(&known);
            if careful.use_ > action.use_ {
                action = Action {
                    when: action.when.max(careful.when),
                    use_: careful.use_,
                    ..action
                };
            }
        }
        action
    }

    /// The caution of the most likely cause that asks for this much care; none where nothing does.
    fn caution(&self, causes: &[Group], action: Action) -> String {
        if action.use_ == Use::Yes {
            let likely = |g: &&Group| g.probability > 0.25 && !g.faults.is_empty();
            return causes
                .iter()
                .find(likely)
                .map_or_else(String::new, |g| g.caution.clone());
        }
        let careful = |g: &&Group| g.action.use_ >= action.use_ && !g.caution.is_empty();
        causes.iter().find(careful).map_or_else(
            || "Treat it as live and keep others off it until it is settled.".into(),
            |g| g.caution.clone(),
        )
    }

    fn danger(&self) -> Danger {
        let mut sum = Danger::default();
        for (t, w) in self.outlook.stakes.truths.iter().zip(&self.outlook.weights) {
            if t.is_danger() && t.harm.shock >= 0.1 {
                sum.shock += w;
            }
            if t.is_danger() && t.harm.fire >= 0.1 {
                sum.fire += w;
            }
        }
        sum
    }

    fn verdict(&self, action: Action, dangerous: f64) -> Verdict {
        let top = self.outlook.groups.first().map_or(0.0, |g| g.probability);
        if self.sifted.unknown > 0.5 || (self.sifted.unknown > top && dangerous < 0.5) {
            return Verdict::Undecided;
        }
        if self.study.witnesses.is_empty() || (self.is_impossible() && dangerous < 0.5) {
            return Verdict::Undecided;
        }
        match (action.use_, action.who) {
            (Use::Stop, _) if dangerous >= 0.5 => Verdict::Danger,
            (Use::Stop, _) => Verdict::Undecided,
            (Use::Restricted, _) => Verdict::Defect,
            (Use::Yes, Who::Nobody) => Verdict::Good,
            (Use::Yes, _) if action.when >= When::Soon => Verdict::Defect,
            (Use::Yes, _) => Verdict::Advice,
        }
    }

    /// True where a reading is beyond what any pair of the system can have.
    fn is_impossible(&self) -> bool {
        standing(self.study.question.visit).any(|r| self.study.is_impossible(r))
    }

    fn because(&self, causes: &[Group], use_: Use) -> String {
        if self.study.witnesses.is_empty() {
            return "Nothing was told that can be weighed; read an outlet first.".into();
        }
        let sure = words::percent;
        if self.sifted.unknown > causes.first().map_or(0.0, |g| g.probability) {
            return format!(
                "Nothing in the catalogue explains all of this ({}); read the remarks and read again.",
                sure(self.sifted.unknown)
            );
        }
        let Some(g) = causes.first() else {
            return "Nothing was told yet.".into();
        };
        let stops = |g: &&Group| g.action.use_ == Use::Stop;
        if use_ == Use::Stop && !stops(&g) {
            // What leads does not say why it is out of use.
            let why = match causes.iter().find(stops) {
                Some(h) => format!(
                    "it may be that {} ({})",
                    words::clause(&h.says),
                    sure(h.probability)
                ),
                None => "a danger that looks the same is not ruled out".into(),
            };
            return format!(
                "Most likely {} ({}), but {why}.",
                words::clause(&g.says),
                sure(g.probability)
            );
        }
        match causes.get(1) {
            Some(h) if h.probability > 0.1 => format!(
                "Most likely {} ({}), else {} ({}).",
                words::clause(&g.says),
                sure(g.probability),
                words::clause(&h.says),
                sure(h.probability)
            ),
            _ => format!(
                "{} ({}).",
                g.says.trim_end_matches('.'),
                sure(g.probability)
            ),
        }
    }

    fn faults(&self, held: &Held) -> Vec<FaultAt> {
        let site = self.study.question.site;
        let mut out: Vec<FaultAt> = held
            .cause
            .faults
            .iter()
            .flatten()
            .map(|i| &self.study.singles[*i as usize])
            .map(|s| FaultAt {
                kind: s.fault.id.into(),
                at: s.at.key(site),
            })
            .collect();
        out.sort();
        out
    }

    fn says(&self, held: &Held) -> String {
        let site = self.study.question.site;
        let all: Vec<String> = held
            .cause
            .faults
            .iter()
            .flatten()
            .map(|i| words::says(site, &self.study.singles[*i as usize]))
            .collect();
        if all.is_empty() {
            "Nothing is wrong".into()
        } else {
            words::sentence(&all.join(", and "))
        }
    }

    fn group(&self, g: usize) -> Group {
        let site = self.study.question.site;
        let group = &self.outlook.groups[g];
        let lead = &self.sifted.held[group.members[0]];
        let truth = self.truth(lead);
        let singles: Vec<_> = lead
            .cause
            .faults
            .iter()
            .flatten()
            .map(|i| &self.study.singles[*i as usize])
            .collect();
        let join = |of: fn(&crate::fault::Fault) -> &'static str| {
            let mut list: Vec<String> = Vec::new();
            for s in &singles {
                let text = words::fill(of(s.fault), site, s.at);
                if !text.is_empty() && !list.contains(&text) {
                    list.push(text);
                }
            }
            list.join(" ")
        };
        Group {
            probability: group.probability,
            faults: self.faults(lead),
            says: self.says(lead),
            others: group.members[1..]
                .iter()
                .map(|m| &self.sifted.held[*m])
                .filter(|h| h.probability > 1e-4)
                .take(12)
                .map(|h| Member {
                    probability: h.probability,
                    faults: self.faults(h),
                    says: self.says(h),
                })
                .collect(),
            verdict: truth.verdict,
            action: truth.action,
            mends: join(|f| f.mends),
            caution: join(|f| f.caution),
            severity: self.severity(lead),
            evidence: Vec::new(),
        }
    }

    /// What is most likely true if this cause is.
    fn truth(&self, held: &Held) -> Truth {
        truths(self.study, held)
            .into_iter()
            .max_by(|a, b| a.2.total_cmp(&b.2))
            .map_or(SOUND, |(_, t, _)| t)
    }

    fn severity(&self, held: &Held) -> Option<String> {
        let i = held.cause.faults[0]? as usize;
        let single = &self.study.singles[i];
        let value = held.ln_severity[0].exp();
        let is_factor = single.recipes.iter().any(|r| r.volts.is_some());
        let is_frequency = single.recipes.iter().any(|r| r.frequency.is_some());
        match single.fault.severity {
            Severity::One => None,
            _ if is_factor => Some(format!("about {:.0} % of nominal", value * 100.0)),
            _ if is_frequency => Some(format!("about {value:.1} Hz")),
            Severity::LogUniform(low, _) if low >= 1e4 => Some("open".into()),
            Severity::LogUniform(low, high) if high / low > 1e9 => None,
            _ if single.fault.is_misreading() => None,
            _ if value >= 1000.0 => Some(format!("about {:.0} kΩ", value / 1000.0)),
            _ => Some(format!("about {value:.2} Ω")),
        }
    }

    /// One finding for each fault that is likely in itself, whatever goes with it.
    fn cause_findings(&self, causes: &[Group]) -> Vec<Finding> {
        let site = self.study.question.site;
        let mut found: Vec<(usize, f64, usize)> = Vec::new();
        for (g, group) in self.outlook.groups.iter().enumerate() {
            for i in self.sifted.held[group.members[0]]
                .cause
                .faults
                .iter()
                .flatten()
            {
                match found.iter_mut().find(|(single, ..)| *single == *i as usize) {
                    Some((_, p, _)) => *p += group.probability,
                    None => found.push((*i as usize, group.probability, g)),
                }
            }
        }
        found.retain(|(_, p, _)| *p > TOLD_FROM);
        found
            .into_iter()
            .map(|(i, p, g)| {
                let single = &self.study.singles[i];
                let held = &self.sifted.held[self.outlook.groups[g].members[0]];
                let slot = usize::from(held.cause.faults[0] != Some(i as u32));
                let mut by_step = [0.0; 3];
                for (cell, share) in held.by_step.iter().enumerate() {
                    by_step[if slot == 0 { cell / 3 } else { cell % 3 }] += share;
                }
                let at = (0..3)
                    .max_by(|a, b| by_step[*a].total_cmp(&by_step[*b]))
                    .unwrap_or(0);
                let last = single.fault.steps.len() - 1;
                let step = &single.fault.steps[at.min(last)];
                let steps = (0..3).map(|i| (single.fault.steps[i.min(last)].verdict, by_step[i]));
                Finding {
                    element: single.at.key(site),
                    verdict: more_likely_than_not(p, steps),
                    statement: format!(
                        "{} ({}).",
                        words::sentence(&words::says(site, single)),
                        words::percent(p)
                    ),
                    evidence: causes.get(g).map_or_else(Vec::new, |g| {
                        g.evidence
                            .iter()
                            .filter(|e| e.weight.abs() > 0.1)
                            .map(|e| format!("{}; predicted {}", e.read, e.predicts))
                            .collect()
                    }),
                    limit: None,
                    action: step.action,
                    caution: words::fill(single.fault.caution, site, single.at),
                }
            })
            .collect()
    }

    fn next(&self, proposed: &Proposed) -> Next {
        let site = self.study.question.site;
        let check = check_of(self.study, proposed);
        let (says, tell, prove) = match check.kind {
            CheckKind::Volts {
                from,
                to,
                under,
                input,
            } => {
                let with = match (under, input) {
                    (Under::SwitchedOn, _) => {
                        " with the switch on: have nothing plugged in when it is put on".into()
                    }
                    (Under::TestLoad, _) => {
                        format!(" with a load of about {TEST_LOAD:.0} W plugged in there")
                    }
                    (_, Input::LowImpedance) => " on the meter's low-impedance input".into(),
                    _ => String::new(),
                };
                let (p, q) = (words::pin(site, from.1), words::pin(site, to.1));
                let unit = match (under, input) {
                    (Under::SwitchedOn, _) => "... V with the switch on".into(),
                    (Under::TestLoad, _) => format!("... V with a test load of {TEST_LOAD:.0} W"),
                    (_, Input::LowImpedance) => "... V on the low impedance input".into(),
                    _ => "... V".to_owned(),
                };
                let (a, b) = (&site.outlets[from.0.0].id, &site.outlets[to.0.0].id);
                if from.0 == to.0 {
                    let at = words::outlet(site, from.0);
                    (
                        format!("Read {p} to {q} at {at}{with}."),
                        format!("{a}: {p}-{q} {unit}"),
                        true,
                    )
                } else {
                    let (x, y) = (words::outlet(site, from.0), words::outlet(site, to.0));
                    (
                        format!("Read {p} of {x} to {q} of {y} with a long lead."),
                        format!("{a} {p} to {b} {q} {unit}"),
                        true,
                    )
                }
            }
            CheckKind::Lamps(o) => {
                let at = words::outlet(site, o);
                let id = &site.outlets[o.0].id;
                (
                    format!("Plug the three-lamp tester into {at}."),
                    format!("{id}: lamps ..."),
                    false,
                )
            }
            CheckKind::Detector(o, pin) => {
                let at = words::outlet(site, o);
                let (id, pin) = (&site.outlets[o.0].id, words::pin(site, pin));
                (
                    format!("Hold a non-contact detector at the {pin} contact of {at}."),
                    format!("{id}: detector signals at {pin} (or: detector quiet at {pin})"),
                    false,
                )
            }
            CheckKind::Switch(o) => {
                let (at, id) = (words::outlet(site, o), &site.outlets[o.0].id);
                (
                    format!(
                        "Look whether a wall switch, a timer or a strip's switch feeds {at}, and whether it is on."
                    ),
                    format!("{id}: its switch is off (or: its switch is on)"),
                    false,
                )
            }
            CheckKind::Breaker(c) => {
                let id = &site.circuits[c.0].id;
                (
                    format!("Look whether the breaker of circuit {id} is on; look only."),
                    "breaker tripped (or: breaker on)".to_owned(),
                    false,
                )
            }
        };
        let rated = "Prove the meter on a known live source before and after; leads and meter rated for an outlet (CAT III, CAT II at the least), fingers behind the guards, one hand where you can.";
        let look = "Touch nothing but the tester's plastic; an indicator can stay dark on a live contact, so treat everything as live.";
        Next {
            key: check.key.clone(),
            says,
            caution: format!(
                "{} Local codes and licensed practice come first.",
                if prove { rated } else { look }
            ),
            minutes: check.minutes,
            hazard: check.hazard,
            would_mean: self.outcomes(proposed, check.kind),
            worth: proposed.worth,
            tell,
        }
    }

    fn outcomes(&self, proposed: &Proposed, kind: CheckKind) -> Vec<Outcome> {
        let site = self.study.question.site;
        let nominal = self.study.nominal;
        let mut out: Vec<(String, f64, Option<usize>, f64, f64)> = Vec::new();
        let mut last: Option<usize> = None;
        for (class, p, group, sure) in &proposed.results {
            let text = match kind {
                CheckKind::Volts { .. } => {
                    let (low, high) = class_bounds(*class);
                    if high.is_infinite() {
                        format!("over {}", words::volts(low * nominal))
                    } else {
                        format!(
                            "{} to {}",
                            words::volts(low * nominal),
                            words::volts(high * nominal)
                        )
                    }
                }
                CheckKind::Lamps(_) => {
                    let name = |a, b| format!("{}-{}", words::pin(site, a), words::pin(site, b));
                    let pairs = [
                        name(Pin::Line, Pin::Neutral),
                        name(Pin::Line, Pin::Earth),
                        name(Pin::Neutral, Pin::Earth),
                    ];
                    let lit: Vec<&str> = class_lamps(*class)
                        .iter()
                        .zip(&pairs)
                        .filter(|(l, _)| **l == Lamp::Lit)
                        .map(|(_, p)| p.as_str())
                        .collect();
                    if lit.is_empty() {
                        "all dark".into()
                    } else {
                        format!("lit: {}", lit.join(", "))
                    }
                }
                CheckKind::Detector(..) => if *class == 0 {
                    "it signals"
                } else {
                    "it stays quiet"
                }
                .into(),
                CheckKind::Switch(_) => if *class == 0 {
                    "it is off"
                } else {
                    "it is on, or there is none"
                }
                .into(),
                CheckKind::Breaker(_) => if *class == 0 {
                    "it is off or tripped"
                } else {
                    "it is on"
                }
                .into(),
            };
            // Neighbouring classes of a voltage that mean the same are told as one.
            if let (CheckKind::Volts { .. }, Some(prev)) = (kind, out.last_mut())
                && prev.2 == *group
                && last == Some(class.wrapping_sub(1))
            {
                let low = prev.0.split(" to ").next().unwrap_or("").to_owned();
                let high = text.split(" to ").nth(1).map(str::to_owned);
                prev.0 = match high {
                    Some(high) => format!("{low} to {high}"),
                    None => format!("over {low}"),
                };
                prev.4 += p * sure;
                prev.1 += p;
                prev.3 = prev.4 / prev.1.max(1e-300);
            } else {
                out.push((text, *p, *group, *sure, p * sure));
            }
            last = Some(*class);
        }
        let mut list: Vec<Outcome> = out
            .into_iter()
            .filter(|(_, p, ..)| *p > 0.03)
            .map(|(result, probability, group, sure, _)| Outcome {
                result,
                probability,
                means: match group.and_then(|g| self.outlook.groups.get(g)) {
                    Some(g) => {
                        let says = words::clause(&self.says(&self.sifted.held[g.members[0]]));
                        if sure > 0.8 {
                            says
                        } else {
                            format!("more likely {says}")
                        }
                    }
                    None => "something that is not in the catalogue".into(),
                },
            })
            .collect();
        list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        list.truncate(5);
        list
    }

    /// Readings at one outlet that cannot be true together, and values that no outlet has.
    fn remarks(&self) -> Vec<String> {
        let site = self.study.question.site;
        let mut out = self.study.remarks.clone();
        let nominal = self.study.nominal;
        let visit = self.study.question.visit;
        for r in standing(visit) {
            if self.study.is_impossible(r) {
                out.push(format!(
                    "{}: more than any pair of this system has. Was it the right function and range? Read it again; until then touch nothing there.",
                    words::reading(site, r)
                ));
            }
        }
        for o in &self.study.wiring.outlets {
            let of = |a: Pin, b: Pin| {
                standing(visit).find_map(|r| match (&r.value, r.from, r.to) {
                    (Told::Volts(v), Contact::Outlet(x, p), Contact::Outlet(y, q))
                        if x == *o
                            && y == *o
                            && ((p, q) == (a, b) || (p, q) == (b, a))
                            && r.input != Input::LowImpedance
                            && r.condition.test_load.is_none() =>
                    {
                        Some((v.value.si().abs(), v.half_width.si()))
                    }
                    _ => None,
                })
            };
            if let (Some(ln), Some(le), Some(ne)) = (
                of(Pin::Line, Pin::Neutral),
                of(Pin::Line, Pin::Earth),
                of(Pin::Neutral, Pin::Earth),
            ) {
                let mut sides = [ln.0, le.0, ne.0];
                sides.sort_by(f64::total_cmp);
                let slack = ln.1 + le.1 + ne.1 + 0.04 * nominal;
                let gap = sides[2] - sides[0] - sides[1];
                if gap > slack {
                    out.push(format!(
                        "The three readings at {} do not add up ({} against {} together): a floating contact read by a high-impedance meter, or one reading is off. Read again on the low-impedance input or with a load.",
                        words::outlet(site, *o),
                        words::volts(sides[2]),
                        words::volts(sides[0] + sides[1])
                    ));
                }
            }
            let mut seen: Vec<(Contact, Contact, f64)> = Vec::new();
            for r in standing(visit) {
                let Told::Volts(v) = &r.value else { continue };
                let plain = r.condition == site::visit::Condition::default()
                    && r.input != Input::LowImpedance;
                if !plain || !matches!(r.from, Contact::Outlet(x, _) if x == *o) {
                    continue;
                }
                if let Some((_, _, other)) = seen.iter().find(|(a, b, other)| {
                    *a == r.from
                        && *b == r.to
                        && (other - v.value.si()).abs() > v.half_width.si() + 0.1 * nominal
                }) {
                    out.push(format!(
                        "{}: the same pair was also read as {}; something changed in between, or one is a slip.",
                        words::reading(site, r),
                        words::volts(*other)
                    ));
                }
                seen.push((r.from, r.to, v.value.si()));
            }
        }
        if self.sifted.unknown > 0.2 {
            out.push(format!(
                "Something that is not in the catalogue is likely ({}): keep to the careful side ({}).",
                words::percent(self.sifted.unknown),
                words::who(site, UNKNOWN.action.who)
            ));
        }
        out
    }
}

/// One piece of evidence that is not yet filled.
pub(crate) fn blank(id: &str) -> Evidence {
    Evidence {
        reading: id.into(),
        read: String::new(),
        predicts: String::new(),
        weight: 0.0,
    }
}

/// The worst verdict that a fault deserves with more than even odds: of probability `p`, its steps sharing that among
/// them. A place is then never called worse than the whole that it is a part of.
fn more_likely_than_not(p: f64, steps: impl Iterator<Item = (Verdict, f64)> + Clone) -> Verdict {
    let whole: f64 = steps.clone().map(|(_, share)| share).sum();
    let at_least = |verdict: Verdict| {
        let shares = steps.clone().filter(|(it, _)| *it >= verdict);
        p * shares.map(|(_, share)| share).sum::<f64>() / whole > 0.5
    };
    let all = steps.clone().map(|(verdict, _)| verdict);
    all.filter(|it| at_least(*it))
        .max()
        .unwrap_or(Verdict::Undecided)
}
