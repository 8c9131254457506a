use site::file::*;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let st = std::fs::read_to_string(&a[1]).unwrap();
    let vt = std::fs::read_to_string(&a[2]).unwrap();
    let s = read_site(&st, &a[1], Form::Toml)
        .map_err(|p| println!("{p}"))
        .unwrap();
    let v = read_visit(&vt, &a[2], Form::Toml, &s.site)
        .map_err(|p| println!("{p}"))
        .unwrap();
    for _ in 0..2 {
        let t = std::time::Instant::now();
        let ans = trace::trace(&trace::Question {
            site: &s.site,
            visit: &v,
            skill: v.skill,
            seed: 1,
        });
        println!("{:?} {:?}", t.elapsed(), ans.work);
        println!("{}\n{}\n{}", ans.headline, ans.because, ans.caution);
        for p in &ans.parts {
            println!(
                "PART {} {:?} {} | {}",
                p.about, p.action, p.headline, p.because
            );
            for g in p.causes.iter().take(4) {
                println!("   {:.3} {}", g.probability, g.says);
            }
        }
        for g in &ans.causes {
            println!("{:.3} {}", g.probability, g.says);
        }
        for f in &ans.findings {
            println!("{:?} {} {}", f.verdict, f.element, f.statement);
        }
        println!("{:?}", ans.next);
        println!("{:?}", ans.remarks);
    }
}
