use axlewright_sight::{find::find, grey::Grey};
fn main() {
    for path in std::env::args().skip(1) {
        let bytes = std::fs::read(&path).unwrap();
        // P5
        let mut it = bytes.splitn(4, |b| *b == b'\n');
        it.next();
        let dims = String::from_utf8(it.next().unwrap().to_vec()).unwrap();
        let (w, h) = dims.split_once(' ').unwrap();
        it.next();
        let px = it.next().unwrap().to_vec();
        let g = Grey::new(w.parse().unwrap(), h.parse().unwrap(), px).unwrap();
        let t = std::time::Instant::now();
        let found = find(&g).unwrap();
        eprintln!("{} tags {:?}", found.len(), t.elapsed());
        for s in found {
            print!("{} {}", path, s.tag.number());
            for c in s.corners { print!(" {:.4} {:.4}", c.x, c.y); }
            println!(" {:?}", s.blur.unwrap_or(-1.0));
        }
    }
}
