use axlewright_quantity::*;
use axlewright_sight::{figures, find::find, grey::*, measure::measure, sheet::SheetId, shot::*};
fn pgm(path: &str) -> Grey {
    let bytes = std::fs::read(path).unwrap();
    let mut it = bytes.splitn(4, |b| *b == b'\n');
    it.next();
    let dims = String::from_utf8(it.next().unwrap().to_vec()).unwrap();
    let (w, h) = dims.split_once(' ').unwrap();
    it.next();
    Grey::new(w.parse().unwrap(), h.parse().unwrap(), it.next().unwrap().to_vec()).unwrap()
}
fn main() {
    // lines: shot PATH F35|-   tap SHOT NAME X Y SHEET|-   run
    let text = std::io::read_to_string(std::io::stdin()).unwrap();
    let mut cache = std::collections::HashMap::new();
    let mut q = Question { scale: Some(Scale::read(Ratio::one(1.0), Ratio::one(1.0))), ..Default::default() };
    for line in text.lines() {
        let w: Vec<&str> = line.split(' ').collect();
        match w[0] {
            "shot" => {
                let (g, seen) = cache.entry(w[1].to_owned()).or_insert_with(|| { let g = pgm(w[1]); let s = find(&g).unwrap(); ((g.width(), g.height()), s) });
                let lens = w[2].parse().map_or(LensKnown::Unknown, |mm| LensKnown::Equivalent(Length::mm(mm)));
                q.shots.push(Shot { width: g.0, height: g.1, lens, seen: seen.clone(), mirrored: false });
            }
            "tap" => q.taps.push(Tap { shot: w[1].parse().unwrap(), name: w[2].into(), at: Pixel { x: w[3].parse().unwrap(), y: w[4].parse().unwrap() }, doubt: TapDoubt::TAP, sheet: SheetId::from_code(w[5]) }),
            "run" => {
                let t = std::time::Instant::now();
                match measure(&q) {
                    Err(why) => println!("{{\"error\":\"{why}\"}}"),
                    Ok(m) => {
                        let dt = t.elapsed().as_secs_f64();
                        let s = m.sheets().to_vec();
                        print!("{{\"t\":{dt},\"sheets\":{:?}", s.iter().map(|s| s.to_string()).collect::<Vec<_>>());
                        if s.len() > 1 {
                            let a = m.sheet_angle(s[0], s[1]).unwrap();
                            let pl = m.plane_angle(s[0], s[1]).unwrap();
                            print!(",\"angle\":[{},{}],\"planes\":[{},{}],\"cw\":{}", a.angle.value.to_deg(), a.angle.u.to_deg(), pl.value.to_deg(), pl.u.to_deg(), a.clockwise);
                        }
                        let l = m.lens(m.shots()[0]).unwrap();
                        print!(",\"lens\":[{},{},{},{},{}],\"lu\":{:?},\"cu\":{}", l.lens.focal, l.lens.centre.x, l.lens.centre.y, l.lens.k1, l.lens.k2, l.u, m.corner_doubt(m.shots()[0]).unwrap());
                        print!(",\"points\":{{");
                        for (n, name) in m.points().iter().enumerate() {
                            let frame = m.plane_of(name).unwrap_or(s[0]);
                            let p = m.point(name, frame).unwrap();
                            print!("{}\"{name}\":[{},{},{},{},{},{}]", if n > 0 { "," } else { "" }, p.x.value.to_mm(), p.y.value.to_mm(), p.z.value.to_mm(), p.x.u.to_mm(), p.y.u.to_mm(), p.z.u.to_mm());
                        }
                        let r: Vec<String> = m.remarks.iter().map(|r| format!("{:?} {}", r.shot, r.what)).collect();
                        println!("}},\"remarks\":{r:?}}}");
                    }
                }
                let _ = figures::SEAT;
                q.shots.clear(); q.taps.clear();
            }
            _ => {}
        }
    }
}
