use site::model::Site; use site::region::Region; use site::visit::*; use metrology::*;
fn main(){
  let region=Region::find("north-america").unwrap();
  let site=Site::assumed(region,&["desk"]);
  let o=site.outlets.iter().position(|o|o.id=="desk").unwrap();
  let mut visit=Visit{site:"x".into(),date:None,skill:Skill::Technician,meters:vec![],readings:vec![],observations:vec![],cannot:vec![]};
  for (i,a) in std::env::args().skip(1).enumerate(){
    let (p,v)=a.split_once('=').unwrap();
    let pin=|c|match c{'L'=>Pin::Line,'N'=>Pin::Neutral,_=>Pin::Earth};
    let mut ch=p.chars();
    let (f,t)=(pin(ch.next().unwrap()),pin(ch.next().unwrap()));
    let oo=site::model::OutletIx(o);
    visit.readings.push(Reading{id:format!("r{}",i+1),from:Contact::Outlet(oo,f),to:Contact::Outlet(oo,t),value:Told::Volts(v.parse::<Stated<Volts>>().unwrap()),meter:None,input:Input::NotTold,condition:Condition::default(),corrects:None});
  }
  let q=trace::Question{site:&site,visit:&visit,skill:Skill::Technician,seed:1};
  for _ in 0..2 {
  let t=std::time::Instant::now();
  trace::debug(q);
  println!("{:?}",t.elapsed());
  }
}
