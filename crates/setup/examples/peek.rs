fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let (car, _) = axlewright_book::read(&text);
    let t = std::time::Instant::now();
    let out = axlewright_setup::assess(&car);
    eprintln!("{:?}", t.elapsed());
    for f in out.findings.iter().filter(|f| f.id.starts_with("car.")) {
        println!("{} {:?}\n {}", f.id, f.at, f.why.words);
        show("", &f.value, 1);
        for i in f.why.inputs.iter().take(8) {
            println!(
                "   in {} {:?} u {:?} share {:?} {}",
                i.name,
                i.value.map(|v| v.shown()),
                i.u.map(|v| v.shown()),
                i.share,
                i.from
            );
        }
    }
    for p in &out.problems {
        println!("P {p}");
    }
    for g in &out.gaps {
        println!("G {} blocks {:?}", g.id, g.blocks);
    }
}
fn show(name: &str, i: &axlewright_setup::Item, d: usize) {
    use axlewright_setup::Item as I;
    let pad = "  ".repeat(d);
    match i {
        I::Leaf(l) => println!("{pad}{name} {:.3} u {:?}", l.value.shown(), l.u.map(|u| u.shown())),
        I::Object(p) => {
            println!("{pad}{name}:");
            for (n, i) in p {
                show(n, i, d + 1)
            }
        }
        I::List(p) => {
            println!("{pad}{name}[");
            for i in p {
                show("-", i, d + 1)
            }
        }
        o => println!("{pad}{name} {o:?}"),
    }
}
