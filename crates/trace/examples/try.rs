use metrology::{Stated, Volts};
use site::model::Site;
use site::region::Region;
use site::visit::*;
fn main() {
    let region = Region::find(&std::env::var("REGION").unwrap_or("north-america".into())).unwrap();
    let site = Site::assumed(region, &["desk"]);
    let o = site.outlets.iter().position(|o| o.id == "desk").unwrap();
    let mut visit = Visit {
        site: "x".into(),
        date: None,
        skill: Skill::Technician,
        meters: vec![],
        readings: vec![],
        observations: vec![],
        cannot: vec![],
    };
    for (i, a) in std::env::args().skip(1).enumerate() {
        let (p, v) = a.split_once('=').unwrap();
        let pin = |c| match c {
            'L' => Pin::Line,
            'N' => Pin::Neutral,
            _ => Pin::Earth,
        };
        let mut ch = p.chars();
        let (f, t) = (pin(ch.next().unwrap()), pin(ch.next().unwrap()));
        let oo = site::model::OutletIx(o);
        visit.readings.push(Reading {
            id: format!("r{}", i + 1),
            from: Contact::Outlet(oo, f),
            to: Contact::Outlet(oo, t),
            value: Told::Volts(v.parse::<Stated<Volts>>().unwrap()),
            meter: None,
            input: Input::NotTold,
            condition: Condition::default(),
            corrects: None,
        });
    }
    let q = trace::Question {
        site: &site,
        visit: &visit,
        skill: Skill::Technician,
        seed: 1,
    };
    for _ in 0..2 {
        let t = std::time::Instant::now();
        let a = trace::trace(&q);
        print(&a);
        println!("{:?}", t.elapsed());
    }
}

fn print(a: &trace::answer::Answer) {
    println!("{}\n{}\n! {}", a.headline, a.because, a.caution);
    println!(
        "danger {:?} unknown {:.3} verdict {:?} {:?}",
        a.danger, a.not_in_catalogue, a.verdict, a.action
    );
    for g in &a.causes {
        println!(
            "{:6.3} {} [{:?}] {:?} +{}",
            g.probability,
            g.says,
            g.verdict,
            g.severity,
            g.others.len()
        );
        for e in &g.evidence {
            println!("         {} | {} | {:+.1}", e.read, e.predicts, e.weight)
        }
    }
    if let Some(n) = &a.next {
        println!(
            "NEXT {} ({:.1} min, worth {:.1})",
            n.says, n.minutes, n.worth
        );
        for o in &n.would_mean {
            println!("     {} {:.2}: {}", o.result, o.probability, o.means)
        }
    }
    for f in &a.findings {
        println!("FIND {:?} {}", f.verdict, f.statement)
    }
    for f in &a.remarks {
        println!("REM {f}")
    }
    println!("{:?}", a.work);
}
