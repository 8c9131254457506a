//! Readings in, ranked causes and the next check out.
//!
//! A cause is a set of no, one or two faults. Its probability is its prior times the mean likelihood of all that was
//! witnessed over sampled worlds (`engine`); the action is the one with the least expected loss (`decide`); the next check
//! is the one that lets that loss fall fastest (`checks`). `trace` judges; it neither solves networks nor prints.
pub mod answer;
pub mod causes;
mod engine;
pub mod fault;
pub mod faults;
pub mod likelihood;
pub mod seeing;
mod study;
mod told;

pub use study::Question;
mod sieve;
#[allow(missing_docs)]
pub fn debug(q: Question<'_>) {
    let mut s = study::Study::of(q);
    println!("nodes {} dims {} singles {}", s.wiring.topology.n_nodes(), s.wiring.dims, s.singles.len());
    let out = sieve::sift(&mut s);
    println!("unknown {:.4} {:?}", out.unknown, out.work);
    for h in out.held.iter().take(12) {
        let name: Vec<String> = h.cause.faults.iter().flatten().map(|i| { let x=&s.singles[*i as usize]; format!("{}@{}", x.fault.id, x.at.key(q.site)) }).collect();
        println!("{:.4} {} {:?}", h.probability, name.join(" + "), h.by_step);
    }
}
