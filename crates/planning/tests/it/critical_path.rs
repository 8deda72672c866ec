//! Critical-path tables as printed, every cell.

use axlewright_planning::{Dates, Follows, NetworkError, Time, dates};

/// Name, time, what it follows, then early start, early finish, late start, late finish, total
/// and free float.
type Row = (&'static str, i64, &'static str, [i64; 6]);

fn check(rows: &[Row], end: i64) {
    let at = |name: char| rows.iter().position(|row| row.0 == name.to_string()).unwrap();
    let times: Vec<Time> = rows.iter().map(|row| Time::hours(row.1)).collect();
    let mut links = Vec::new();
    for (after, row) in rows.iter().enumerate() {
        let one = |name| Follows { before: at(name), after, lag: Time::ZERO };
        links.extend(row.2.chars().map(one));
    }
    let found = dates(&times, &links).unwrap();
    for (row, d) in rows.iter().zip(&found) {
        let got = [
            d.early_start,
            d.early_finish,
            d.late_start,
            d.late_finish,
            d.total_float,
            d.free_float,
        ];
        assert_eq!(got.map(|time| time.to_seconds()), row.3.map(|hours| hours * 3600), "{}", row.0);
        assert_eq!(d.critical(), row.3[4] == 0);
    }
    let last = found.iter().map(|d| d.early_finish).max().unwrap();
    assert_eq!(last, Time::hours(end));
}

/// "Critical path method", Example 1, studylib.net/doc/8378728: end after 16 h, critical
/// A-B-D-E-G. Free float derived from the dates printed.
#[test]
fn seven_activities() {
    let rows: &[Row] = &[
        ("A", 6, "", [0, 6, 0, 6, 0, 0]),
        ("B", 2, "A", [6, 8, 6, 8, 0, 0]),
        ("C", 2, "A", [6, 8, 7, 9, 1, 0]),
        ("D", 3, "B", [8, 11, 8, 11, 0, 0]),
        ("F", 2, "C", [8, 10, 9, 11, 1, 1]),
        ("E", 4, "DF", [11, 15, 11, 15, 0, 0]),
        ("G", 1, "E", [15, 16, 15, 16, 0, 0]),
    ];
    check(rows, 16);
}

/// slideplayer.com/slide/3283910, first network: the dates are printed; what follows what is
/// inferred from them, and the floats derived.
#[test]
fn eleven_activities() {
    let rows: &[Row] = &[
        ("A", 4, "", [0, 4, 0, 4, 0, 0]),
        ("B", 6, "A", [4, 10, 4, 10, 0, 0]),
        ("C", 3, "A", [4, 7, 22, 25, 18, 0]),
        ("D", 6, "B", [10, 16, 10, 16, 0, 0]),
        ("E", 14, "D", [16, 30, 16, 30, 0, 0]),
        ("F", 5, "C", [7, 12, 25, 30, 18, 18]),
        ("G", 2, "EF", [30, 32, 30, 32, 0, 0]),
        ("H", 2, "G", [32, 34, 33, 35, 1, 1]),
        ("I", 3, "G", [32, 35, 32, 35, 0, 0]),
        ("J", 4, "HI", [35, 39, 35, 39, 0, 0]),
        ("K", 2, "J", [39, 41, 39, 41, 0, 0]),
    ];
    check(rows, 41);
}

/// slideplayer.com/slide/3283910, second network (dates printed, floats derived).
#[test]
fn eight_activities() {
    let rows: &[Row] = &[
        ("A", 4, "", [0, 4, 0, 4, 0, 0]),
        ("B", 3, "A", [4, 7, 7, 10, 3, 2]),
        ("C", 5, "A", [4, 9, 4, 9, 0, 0]),
        ("D", 2, "A", [4, 6, 7, 9, 3, 3]),
        ("E", 5, "BC", [9, 14, 10, 15, 1, 1]),
        ("F", 6, "CD", [9, 15, 9, 15, 0, 0]),
        ("G", 4, "EF", [15, 19, 15, 19, 0, 0]),
        ("H", 3, "G", [19, 22, 19, 22, 0, 0]),
    ];
    check(rows, 22);
}

/// NAVEDTRA 14233, activity 1020: early start 3, early finish 10, late start 5; the next starts
/// at 11 with no wait between, so free float 1 and total float 2.
#[test]
fn free_float_of_activity_1020() {
    let times = [3, 7, 11, 4, 5].map(Time::days);
    let link = |before, after| Follows { before, after, lag: Time::ZERO };
    // 0: before it; 1: activity 1020; 2: what makes the next start at 11; 3: the next;
    // 4: a longer way to the end, so that late dates are later.
    let found = dates(&times, &[link(0, 1), link(1, 3), link(2, 3), link(2, 4)]).unwrap();
    let days = |time: Time| time.to_seconds() / 86_400;
    let Dates { early_start, early_finish, late_start, total_float, free_float, .. } = found[1];
    let got = [early_start, early_finish, late_start, total_float, free_float].map(days);
    assert_eq!(got, [3, 10, 5, 2, 1]);
    // The same with the wait of one day written down: nothing is left free.
    let wait = Follows { lag: Time::days(1), ..link(1, 3) };
    let found = dates(&times, &[link(0, 1), wait, link(2, 3), link(2, 4)]).unwrap();
    assert_eq!(days(found[1].free_float), 0);
    assert_eq!(days(found[1].total_float), 1);
}

#[test]
fn what_cannot_be_is_refused() {
    let link = |before, after| Follows { before, after, lag: Time::ZERO };
    let two = [Time::hours(1); 2];
    assert_eq!(dates(&two, &[link(0, 1), link(1, 0)]), Err(NetworkError::Loop(vec![0, 1])));
    assert!(matches!(dates(&two, &[link(0, 2)]), Err(NetworkError::Link(_))));
    assert!(matches!(dates(&[Time::seconds(-1)], &[]), Err(NetworkError::Time { at: 0, .. })));
    assert_eq!(dates(&[], &[]), Ok(vec![]));
}

/// `reference/network_oracle.py`: forty random networks with waits, by longest paths in networkx.
const NETWORKS: &str = include_str!("../../../../reference/networks.csv");

#[test]
fn random_networks_by_longest_paths() {
    let mut networks: Vec<(Vec<Follows>, Vec<[i64; 7]>)> = Vec::new();
    for line in NETWORKS.lines().skip(3) {
        let cells: Vec<&str> = line.split(',').collect();
        let number: usize = cells[0].parse().unwrap();
        let of = |at: usize| cells[at].parse::<i64>().unwrap();
        while networks.len() <= number {
            networks.push((Vec::new(), Vec::new()));
        }
        let (links, rows) = &mut networks[number];
        match cells[1] {
            "link" => links.push(Follows {
                before: cells[2].parse().unwrap(),
                after: cells[3].parse().unwrap(),
                lag: Time::minutes(of(4)),
            }),
            _ => rows.push([of(2), of(3), of(4), of(5), of(6), of(7), of(8)]),
        }
    }
    assert_eq!(networks.len(), 40);
    for (links, rows) in &networks {
        let times: Vec<Time> = rows.iter().map(|row| Time::minutes(row[0])).collect();
        let found = dates(&times, links).unwrap();
        for (row, d) in rows.iter().zip(&found) {
            let got = [
                d.early_start,
                d.early_finish,
                d.late_start,
                d.late_finish,
                d.total_float,
                d.free_float,
            ];
            let got = got.map(|time| time.to_seconds() / 60);
            assert_eq!(got[..], row[1..], "{links:?} {rows:?}");
        }
    }
}
