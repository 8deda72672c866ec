//! Where the job stands, told in a few lines.

use super::common::run;

#[test]
fn a_half_done_book_says_where_the_energy_is_and_what_comes_next() {
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), &["demo", "--once", "--out", "demo"]).ends_with(0);
    let told = run(folder.path(), &["status", "demo/book"]).ends_with(0);
    let plan = run(folder.path(), &["order", "demo/book", "--have", "bench", "--json"]).json();
    let findings = plan["findings"].as_array().unwrap();
    let sequence = findings.iter().find(|f| f["id"] == "order.sequence").unwrap();
    let first = sequence["value"][0]["step"].as_str().unwrap();
    let next = told.out.split("Next: ").nth(1).expect(&told.out);
    assert!(next.contains(&format!("[ ]  {first} ·")), "{first} is not next in\n{}", told.out);
    assert!(told.out.contains("\nenergy: "), "{}", told.out);
    let done = told.out.split(": ").nth(1).and_then(|s| s.split(" of ").next()).unwrap();
    assert!(0 < done.parse::<u32>().unwrap(), "{}", told.out);
    assert!(told.out.lines().count() < 60, "{}", told.out);
}

#[test]
fn a_car_without_steps_says_what_to_measure_first() {
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), &["new", "wren"]).ends_with(0);
    let told = run(folder.path(), &["status", "wren"]).ends_with(0);
    assert!(told.out.contains("no steps yet"), "{}", told.out);
    assert!(told.out.contains("Still to measure or look up"), "{}", told.out);
    run(folder.path(), &["status", "nothing-there"]).ends_with(3);
    let json = run(folder.path(), &["status", "wren", "--json"]).ends_with(0).json();
    assert_eq!(json["schema"], 1);
}
