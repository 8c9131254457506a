//! What a machine draws from its supply, per rail and moment.
//!
//! A part draws from a rail of voltage V: `I = c v`, `I = c P / (V η)` behind a regulator of the board, or, where its
//! kind is known by a share s of its maker's power P, `I = c s P / (V η)`. c: how many, v: typical current (A), η:
//! efficiency of the regulator (1 without). A told power scales what is typical to it; currents of a label and a told
//! peak or spin-up stand for what is typical. Doubt: `crate::sum`.
//! Drives that start every d seconds and speed up for T: `min(n, ⌈T/d⌉)` of n do so at once, the others idle; the
//! hungriest are taken to be among them. A supply with 12 V only feeds `V I / (12 η₁₂)` for what hangs on other rails.
//! All parts are taken to work at once. Held by: tests/table.rs, tests/exact.rs.

mod part;

use site::machine::{Build, Part, PartKind};
use site::supply::{Feeds, Rail};
use site::typical::{Moment, Usuals};

use crate::rules::Rules;
use crate::sum::Sum;
use part::{IDLE, Row, START, rests_on, rows, slot_share, told};

/// A current from a rail through connectors of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Flow {
    /// The rail.
    pub rail: Rail,
    /// Through which connectors.
    pub through: Feeds,
    /// In amperes.
    pub amps: Sum,
}

/// A part as it was counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// As "2 3.5 inch disks".
    pub says: String,
    /// What its figures rest on.
    pub from: String,
    /// What it draws at sustained work, in watts.
    pub watts: Sum,
}

/// What a machine draws.
#[derive(Clone, Debug, PartialEq)]
pub struct Demand {
    /// Each row of parts.
    pub parts: Vec<Taken>,
    /// What was taken for granted.
    pub notes: Vec<String>,
    flows: [Vec<Flow>; 7],
}

impl Demand {
    /// Of what a machine is made of.
    pub fn of(build: &Build) -> Demand {
        let usuals = Usuals::built_in();
        let mut parts = build.parts.clone();
        let mut notes = Vec::new();
        let has = |kind: PartKind| build.parts.iter().any(|it| it.kind == kind);
        if has(PartKind::Processor) && !has(PartKind::Board) {
            parts.push(Part::of(PartKind::Board));
            notes.push("no board is told: one is counted, as a processor needs it".to_owned());
        }
        if parts.is_empty() {
            notes.push("no part is told: nothing is counted".to_owned());
        }
        let mut demand = Demand {
            parts: Vec::new(),
            notes,
            flows: [const { Vec::new() }; 7],
        };
        let regulator = parts.len(); // the source of doubt behind those of the parts
        let mut spinning = Vec::new();
        for (source, part) in parts.iter().enumerate() {
            let mut rows = rows(part, usuals);
            told(part, &mut rows, usuals);
            demand.take(part, source, &rows, usuals, regulator);
            if part.kind.spins() {
                spinning.push((source, part.count, rows));
            }
        }
        demand.stagger(build, &spinning, usuals);
        demand
    }

    /// Currents at a moment.
    pub fn flows(&self, moment: Moment) -> &[Flow] {
        &self.flows[moment as usize]
    }

    /// Current from a rail at a moment, in amperes; of +12 V all that voltage, through which connectors it may be.
    pub fn amps(&self, moment: Moment, rail: Rail) -> Sum {
        let mut sum = Sum::default();
        for flow in self.flows(moment) {
            if flow.rail == rail.family() {
                sum.add(1.0, &flow.amps);
            }
        }
        sum
    }

    /// Current from a rail through connectors of one kind, in amperes.
    pub fn through(&self, moment: Moment, rail: Rail, through: Feeds) -> Sum {
        let mut sum = Sum::default();
        for flow in self.flows(moment) {
            if flow.rail == rail.family() && flow.through == through {
                sum.add(1.0, &flow.amps);
            }
        }
        sum
    }

    /// Power from these rails together, in watts.
    pub fn watts_of(&self, moment: Moment, rails: &[Rail]) -> Sum {
        let mut sum = Sum::default();
        for flow in self.flows(moment) {
            if rails.contains(&flow.rail) {
                sum.add(flow.rail.volts().si(), &flow.amps);
            }
        }
        sum
    }

    /// Power from all rails together, in watts.
    pub fn watts(&self, moment: Moment) -> Sum {
        let mut sum = Sum::default();
        for flow in self.flows(moment) {
            sum.add(flow.rail.volts().si(), &flow.amps);
        }
        sum
    }

    /// The part whose doubt weighs most in a sum, by its place in `parts`.
    pub fn most_doubtful(&self, sum: &Sum) -> Option<usize> {
        let each = sum.by_source().iter().enumerate();
        let most = each.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        Some(most.0).filter(|it| *it < self.parts.len())
    }

    /// The same machine on a supply with 12 V only, whose board makes the other rails.
    pub fn on_12_only(&self) -> Demand {
        let board = Rules::built_in().only_12.value;
        let (eta, u) = (board.value.si(), board.u.si());
        let source = self.parts.len() + 1; // behind the regulator's
        let mut demand = Demand {
            flows: [const { Vec::new() }; 7],
            ..self.clone()
        };
        for moment in Moment::ALL {
            for flow in self.flows(moment) {
                let to = match flow.rail {
                    Rail::Plus12 => {
                        demand.flow(moment, flow.rail, flow.through, &flow.amps);
                        continue;
                    }
                    Rail::Standby5 => Rail::Standby12,
                    _ => Rail::Plus12,
                };
                let mut amps = flow.amps.times(flow.rail.volts().si() / (12.0 * eta));
                amps.doubt(source, -amps.value() * u / eta);
                demand.flow(moment, to, Feeds::Board, &amps);
            }
        }
        demand
    }

    fn flow(&mut self, moment: Moment, rail: Rail, through: Feeds, amps: &Sum) {
        if amps.value() == 0.0 && amps.u() == 0.0 {
            return;
        }
        let flows = &mut self.flows[moment as usize];
        let same = |it: &&mut Flow| it.rail == rail && it.through == through;
        match flows.iter_mut().find(same) {
            Some(it) => it.amps.add(1.0, amps),
            None => flows.push(Flow {
                rail,
                through,
                amps: amps.clone(),
            }),
        }
    }

    /// Counts a part in, at every moment.
    fn take(
        &mut self,
        part: &Part,
        source: usize,
        rows: &[Row],
        usuals: &Usuals,
        regulator: usize,
    ) {
        let (eta, u_eta) = usuals.regulator.value;
        let relative = u_eta.si() / eta.si();
        let slot = slot_share(part, usuals);
        let count = f64::from(part.count);
        let mut watts = Sum::default();
        for row in rows {
            for moment in Moment::ALL {
                let (value, u) = row.at[moment as usize];
                let mut amps = Sum::of(count * value, source, count * u);
                if row.regulated {
                    amps.doubt(regulator, -count * value * relative);
                }
                if moment == Moment::Sustained {
                    watts.add(row.rail.volts().si(), &amps);
                }
                if row.through == Feeds::Graphics {
                    self.flow(moment, row.rail, Feeds::Board, &amps.times(slot));
                    self.flow(moment, row.rail, row.through, &amps.times(1.0 - slot));
                } else {
                    self.flow(moment, row.rail, row.through, &amps);
                }
            }
        }
        let words = part.kind.words(part.count);
        let made = part.generation.map_or("", |it| it.name());
        let named = [made, words].join(" ").trim().to_owned();
        let label = part
            .label
            .as_ref()
            .map_or(String::new(), |it| format!(" ({it})"));
        self.parts.push(Taken {
            says: match part.count {
                1 => format!("{named}{label}"),
                n => format!("{n} {named}{label}"),
            },
            from: rests_on(part, usuals),
            watts,
        });
    }

    /// Takes back what drives draw at the start that do not start with the others.
    fn stagger(&mut self, build: &Build, spinning: &[(usize, u32, Vec<Row>)], usuals: &Usuals) {
        let Some(apart) = build.stagger.filter(|it| it.si() > 0.0) else {
            return;
        };
        let at_once = (usuals.spin_up.value.si() / apart.si()).ceil() as u32;
        let extra = |rows: &[Row]| -> f64 {
            let more = |it: &Row| it.rail.volts().si() * (it.at[START].0 - it.at[IDLE].0);
            rows.iter().map(more).sum()
        };
        let mut hungriest: Vec<_> = spinning.iter().collect();
        hungriest.sort_by(|a, b| extra(&b.2).total_cmp(&extra(&a.2)));
        let mut left = at_once;
        for (source, count, rows) in hungriest {
            let starting = left.min(*count);
            left -= starting;
            let waiting = f64::from(count - starting);
            for row in rows {
                let ((start, u_start), (idle, u_idle)) = (row.at[START], row.at[IDLE]);
                let less = Sum::of(
                    waiting * (idle - start),
                    *source,
                    waiting * (u_idle - u_start),
                );
                self.flow(Moment::Start, row.rail, row.through, &less);
            }
        }
    }
}
