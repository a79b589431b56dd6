#![allow(missing_docs)]
use visviva_engine::system::*; use visviva_engine::time::Epoch; use std::time::Instant;
use visviva_engine::arc::*; use visviva_engine::numerics::watch::Watch; use visviva_engine::arc::lambert::*;
fn main(){
 let s=System::embedded("sol",EphemerisChoice::Default).unwrap();
 for n in ["Earth","Mars"]{ let b=s.body(n).unwrap(); let e=Epoch::parse("2026-01-01 TDB").unwrap();
  let t=Instant::now(); let mut x=0.0; for i in 0..20000{ x+=b.state(e.after(i as f64*8000.0)).unwrap().position.x;} println!("{n} {} ns {x}",t.elapsed().as_nanos() as f64/20000.0);}
 let (a,b)=(s.body("Earth").unwrap(),s.body("Mars").unwrap()); let e=Epoch::parse("2026-01-01 TDB").unwrap();
 let (p,q)=(a.state(e).unwrap(),b.state(e.after(2e7)).unwrap()); let gm=s.root().gm();
 let t=Instant::now(); let mut x=0.0; for i in 0..20000{ x+=solve_one(gm,&p.position,&q.position,2e7+i as f64*100.0,Way::Prograde(nalgebra::Vector3::z()),0,Branch::Single).unwrap().v1.x;} println!("lambert {} ns {x}",t.elapsed().as_nanos() as f64/20000.0);
 for (shoot,rev,mx) in [(false,0,500.0),(false,2,1800.0),(true,0,500.0)]{
 let mut o=WindowOptions::new((e,Epoch::parse("2046-01-01 TDB").unwrap()),300e3); o.rank=Some(Rank::Excess{arrival_weight:1.0}); o.shoot=shoot; o.revolutions=rev; o.flight_time=Some((60.0*86400.0,mx*86400.0));
 let t=Instant::now(); let f=windows(&a,&b,&o,&Watch::none()).unwrap(); println!("{shoot} {} ms",t.elapsed().as_secs_f64()*1e3);
 for w in &f.list { println!("{} {:8.2} {:10.6} {:?} {}", w.dates.0.show(), w.dates.1.seconds_since(w.dates.0)/86400.0, w.cost/1e3, w.on_bound, w.arc.theta.to_degrees()); println!("   {}",w.why); }
 }
}
