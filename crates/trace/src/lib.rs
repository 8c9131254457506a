//! Readings in, ranked causes and the next check out.
//!
//! A cause is a set of no, one or two faults. Its probability is its prior times the mean likelihood of all that was
//! witnessed over sampled worlds (`engine`); the action is the one with the least expected loss (`decide`); the next check
//! is the one that lets that loss fall fastest (`checks`). `trace` judges; it neither solves networks nor prints.
pub mod answer;
pub mod causes;
mod checks;
mod decide;
mod engine;
pub mod fault;
pub mod faults;
pub mod likelihood;
mod next;
pub mod seeing;
mod study;
mod told;

pub use study::Question;
mod sieve;
#[allow(missing_docs)]
pub fn debug(q: Question<'_>) {
    let mut s = study::Study::of(q);
    println!("nodes {} dims {} singles {} checks {} conds {}", s.wiring.topology.n_nodes(), s.wiring.dims, s.singles.len(), s.checks.len(), s.conditions.len());
    let t = std::time::Instant::now();
    let out = sieve::sift(&mut s);
    println!("unknown {:.4} {:?} {:?}", out.unknown, out.work, t.elapsed());
    let t = std::time::Instant::now();
    let ahead = next::look_ahead(&s, &out);
    println!("ahead {:?} {:?}", ahead.work, t.elapsed());
    println!("{:?}", ahead.stakes.best(&ahead.weights));
    for g in ahead.groups.iter().take(8) {
        println!("{:.4}", g.probability);
        for m in g.members.iter().take(4) { let h=&out.held[*m];
        let name: Vec<String> = h.cause.faults.iter().flatten().map(|i| { let x=&s.singles[*i as usize]; format!("{}@{}", x.fault.id, x.at.key(q.site)) }).collect();
        println!("    {:.4} {}", h.probability, name.join(" + "));
        }
    }
    if let Some(n) = &ahead.next { println!("next {:?} worth {} {:?}", next::check_of(&s, n), n.worth, n.results); }
}
