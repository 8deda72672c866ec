//! What may hurt or break is said in front, by an id that faces place it by.

use super::{LARCH, LEFT, RIGHT, assessed, demo, finding, number};
use axlewright_setup::cautions::ROLL_SHARE;
use axlewright_setup::{Assessment, Finding, Item, Severity, State, Subject};

#[test]
fn the_demo_has_nothing_to_heed_but_the_jack_and_its_stiffer_bars() {
    let all = demo();
    assert!(!all.must_stop());
    let cautions = all.cautions.clone();
    assert_eq!(cautions.len(), 1, "{cautions:?}");
    let told = &cautions[0];
    assert_eq!((told.id, &told.of, told.severity), (ROLL_SHARE, &None, Severity::Caution));
    for part in ["roll stiffness", "the tail lets go sooner", "approval"] {
        assert!(told.words.contains(part), "{told:?}");
    }
    let same = LARCH.replace("fitted_diameter = \"23.0 mm\"", "fitted_diameter = \"22.0 mm\"");
    assert_eq!(assessed(&same).cautions, Vec::new());
}

#[test]
fn what_is_to_be_heeded_on_the_road_is_told_apart_from_the_work() {
    let text = LARCH.replace("allowable_shear = \"800 MPa\"", "allowable_shear = \"600 MPa\"");
    let out = assessed(&text);
    let road = out.caution(ROLL_SHARE, None).unwrap();
    assert!(road.words.contains("in a fast bend"), "{road:?}");
    let work: Vec<_> = out.cautions_of_the_work().collect();
    assert_eq!(work.len() + 1, out.cautions.len());
    assert!(work.iter().any(|said| said.id == "bar.overstressed"), "{work:?}");
    assert!(!work.contains(&road));
}

#[test]
fn an_overstressed_bar_is_told() {
    let out =
        assessed(&LARCH.replace("allowable_shear = \"800 MPa\"", "allowable_shear = \"600 MPa\""));
    let told: Vec<_> = out.cautions.iter().filter(|c| c.id == "bar.overstressed").collect();
    assert_eq!(told.len(), 2, "full bump, both sides: {:?}", out.cautions);
    assert!(told.iter().all(|c| c.words.contains("MORE than it may bear")), "{told:?}");
    assert_eq!([&told[0].of, &told[1].of], [&Some(LEFT), &Some(RIGHT)]);
    assert!(out.must_stop());
}

#[test]
fn a_reading_with_the_wrong_sign_is_asked_about() {
    let out = assessed(&LARCH.replace("value = \"35.2 deg\"", "value = \"-35.2 deg\""));
    let told = out.caution("reading.sign", Some(&LEFT)).unwrap();
    assert!(told.words.contains("the other sign"), "{told:?}");
    assert_eq!(told.severity, Severity::Stop);
    assert_eq!(out.caution("reading.sign", Some(&RIGHT)), None);
}

fn advice(value: &Item) -> String {
    match value.get("advice") {
        Some(Item::Word(words)) => words.clone(),
        other => panic!("{other:?}"),
    }
}

/// The bags lie right over two stands that stand alike, so each rear stand takes all of its bag and
/// the front ones nothing: what is missing of 200 N on the rear stand, twice the doubt counted in.
fn by_hand(value: &Item) -> f64 {
    let rear =
        value.get("after").unwrap().items().iter().filter(
            |row| matches!(row.get("stand"), Some(Item::Word(name)) if name.ends_with("rear")),
        );
    let missing = rear.map(|row| {
        let load = row.get("load").unwrap().as_leaf().unwrap();
        200.0 - (load.value.shown() - 2.0 * load.u.unwrap().shown())
    });
    (missing.fold(0.0, f64::max) / 9.806_65 - 1e-6).ceil()
}

#[test]
fn ballast_carries_twice_its_doubt() {
    let at = &finding(demo(), "raise.stop-bolt", &LEFT, Some(State::Target)).value;
    let told = number(at, "ballast_with_margin").shown();
    assert!((told - by_hand(at)).abs() < 1e-9, "{told} {}", by_hand(at));
    assert_eq!(at.get("bags"), Some(&Item::Count((told / 10.0).ceil() as i64, "bags")));
    let said = format!("First put {told} kg, {:.0} bags, over each rear stand", told / 10.0 + 0.5);
    assert!(advice(at).starts_with(&said), "{}", advice(at));
}

/// Where it is not to be done there is no figure for it: on the teeth as they are, with the demo's
/// shell or with one of 300 kg; nor where nobody knows what the shell weighs.
#[test]
fn what_is_not_to_be_raised_has_no_figures() {
    const FIGURES: [&str; 10] = [
        "lift",
        "force",
        "energy",
        "stand",
        "stand_before",
        "stand_after",
        "after",
        "lifts_car",
        "ballast_with_margin",
        "bags",
    ];
    let light = assessed(&LARCH.replace("mass = \"520 kg\"", "mass = \"300 kg\""));
    let blank = assessed(&super::without(LARCH, "shell.mass"));
    for (out, sides, state, may) in [
        (demo(), &[LEFT][..], State::Now, "NOT YET"),
        (&light, &[LEFT, RIGHT], State::Now, "NOT YET"),
        (&light, &[LEFT, RIGHT], State::Target, "NOT YET"),
        (&blank, &[LEFT, RIGHT], State::Now, "not known"),
        (&blank, &[LEFT, RIGHT], State::Target, "not known"),
    ] {
        for of in sides {
            let found = finding(out, "raise.stop-bolt", of, Some(state));
            let value = &found.value;
            assert_eq!(value.get("may"), Some(&Item::Word(may.to_owned())));
            for figure in FIGURES {
                assert_eq!(value.get(figure), Some(&Item::Nothing), "{figure}");
            }
            assert_eq!(found.why.words, advice(value));
            let words = &found.why.words;
            assert!(!words.contains(|c: char| c.is_ascii_digit()), "{words}");
            assert_eq!(words.contains("NOT YET"), may == "NOT YET", "{words}");
            assert_eq!(words.contains("card"), may == "not known", "{words}");
            // The angles are those of the car as it hangs and of the hole: nothing is raised.
            assert!(value.get("angle").unwrap().amount().is_some());
        }
    }
}

/// A centre of mass off the middle asks for more on one side than on the other; the bags lie there
/// for both.
#[test]
fn both_sides_are_told_one_ballast() {
    let out = assessed(&LARCH.replace("mass_at = \"900, 0,", "mass_at = \"900, 40,"));
    let each =
        [LEFT, RIGHT].map(|of| &finding(&out, "raise.stop-bolt", &of, Some(State::Target)).value);
    let told = each.map(|value| number(value, "ballast_with_margin").shown());
    let own = each.map(by_hand);
    assert!(own[0] < own[1] || own[1] < own[0], "{own:?}");
    assert_eq!(told, [own[0].max(own[1]); 2]);
    let words = each.map(|value| advice(value).to_owned());
    assert_eq!(words[0], words[1]);
    assert!(words[0].contains(&format!("put {} kg", told[0])), "{}", words[0]);
}

/// As the shell grows heavier the stand keeps a little, then enough: what is told must not fade
/// before the doubt does.
#[test]
fn ballast_does_not_fade_where_the_stand_just_keeps_its_load() {
    let mut before = f64::INFINITY;
    for mass in [560, 620, 655, 700, 740, 900, 1400] {
        let text = LARCH.replace("mass = \"520 kg\"", &format!("mass = \"{mass} kg\""));
        let out = assessed(&text);
        let value = &finding(&out, "raise.stop-bolt", &LEFT, Some(State::Target)).value;
        let told = number(value, "ballast_with_margin").shown();
        assert!((told - by_hand(value)).abs() < 1e-9, "{mass} kg: {told} {}", by_hand(value));
        assert!(told <= before);
        let after = value.get("after").unwrap().items();
        let left = after[2].get("load").unwrap().as_leaf().unwrap();
        let told_after = value.get("stand_after").unwrap();
        assert_eq!(*told_after == Item::Nothing, left.value.shown() < 0.0, "{told_after:?}");
        let least = left.value.shown() - 2.0 * left.u.unwrap().shown();
        assert_eq!(told == 0.0, 200.0 <= least, "{mass} kg keeps {least} N, told {told} kg");
        before = told;
    }
    assert!(before == 0.0, "the heaviest needs none");
}

/// Without a word on how sure anything is, nobody can say what keeps the stand loaded.
#[test]
fn without_doubts_no_ballast_is_told() {
    let (head, tail) = LARCH.split_once("[uncertainty]").unwrap();
    let rest = tail.split_once("# ---- Joints").unwrap().1;
    let out = assessed(&format!("{head}# ---- Joints{rest}"));
    let value = &finding(&out, "raise.stop-bolt", &LEFT, Some(State::Target)).value;
    assert_eq!(value.get("ballast_with_margin"), Some(&Item::Nothing));
    assert_eq!(value.get("may"), Some(&Item::Word("not known".to_owned())));
    assert!(advice(value).starts_with("How surely"), "{}", advice(value));
}

/// By hand for the left rear stand, 520 kg, 900 mm ahead of the bar: 39.8 N for 20 kg, 86.1 N for
/// 50 mm along the car (the two rear stands share W·50/1480), 132.5 N for 50 mm across
/// (W·50·450/865 800): 163 N in all.
#[test]
fn an_estimated_centre_of_mass_is_as_sure_as_an_estimate() {
    let out = demo();
    let stand = |out: &Assessment| {
        let of = Subject::Stand("left rear".to_owned());
        out.find("stands", Some(&of)).unwrap().clone()
    };
    let u = |found: &Finding| number_u(&found.value, "estimate");
    let found = stand(out);
    assert!((u(&found) - 163.0).abs() < 0.5, "{}", u(&found));
    let of_centre =
        found.why.inputs.iter().find(|i| i.name.starts_with("centre of mass of the body"));
    assert!(of_centre.unwrap().from.contains("common practice"), "{of_centre:?}");
    // What the file says goes before what is usual.
    let weighed = LARCH
        .replace("mass_at = \"900, 0, 250 mm\"", "mass_at = \"900, 0, 250 mm u 1 mm\"")
        .replace("mass = \"520 kg\"", "mass = \"520 kg u 1 kg\"");
    assert!(u(&stand(&assessed(&weighed))) < 5.0);
}

fn number_u(value: &Item, name: &str) -> f64 {
    value.get(name).unwrap().as_leaf().unwrap().u.unwrap().shown()
}

/// Nearer to one corner than equal springs allow: the stand across would have to pull, and the
/// other three carry all. By levers: 0.3 − 0.02 of 1.48 m on the left front one, and of the rest
/// 0.6378 of the weight on the left rear one.
#[test]
fn a_stand_that_would_pull_is_told_and_has_no_figure() {
    let out = assessed(&LARCH.replace("mass_at = \"900, 0, 250", "mass_at = \"300, 300, 250"));
    let stand = |name: &str| {
        let of = Subject::Stand(name.to_owned());
        (out.find("stands", Some(&of)).unwrap().clone(), of)
    };
    let (pulls, of) = stand("right front");
    assert_eq!(pulls.value.get("estimate"), Some(&Item::Nothing));
    assert!(pulls.why.words.contains("would have to pull"), "{}", pulls.why.words);
    assert_eq!(out.caution("stands.pulls", Some(&of)).unwrap().severity, Severity::Stop);
    let (rear, of) = stand("left rear");
    let load = number(&rear.value, "estimate").shown();
    assert!((load - 0.637_838 * 520.0 * 9.806_65).abs() < 0.1, "{load}");
    assert_eq!(out.caution("stands.pulls", Some(&of)), None);
    // A little further in it presses, by less than the doubt of the centre.
    let out = assessed(&LARCH.replace("mass_at = \"900, 0, 250", "mass_at = \"420, 220, 250"));
    let of = Subject::Stand("right front".to_owned());
    let told = out.caution("stands.may-pull", Some(&of)).unwrap();
    assert_eq!(told.severity, Severity::Caution);
    assert_eq!(demo().caution("stands.may-pull", Some(&of)), None);
}

/// By hand to the left, the right rear stand with 1033.7 N, u 163 N, one newton of push taking
/// 0.2183 N off it: it slides at 0.1·1033.7/(0.25 + 0.1·0.2183) = 380.3 N where the saddle is as
/// slippery as that, less twice 15.8 %; at the roughest it tips first, at 789.4 N, and twice more.
#[test]
fn the_push_is_told_from_slippery_to_rough() {
    let rows = demo().find("stands.upset", None).unwrap().value.items().to_vec();
    let left = rows.iter().find(|row| row.get("direction").unwrap() == &to_the_left()).unwrap();
    let (least, most) = (number(left, "push").shown(), number(left, "highest").shown());
    assert!((least - 380.3 * (1.0 - 0.3154)).abs() < 1.5, "{least}");
    assert!((most - 789.4 * (1.0 + 0.3154)).abs() < 3.0, "{most}");
    let leaves = rows.iter().flat_map(|row| row.leaves());
    assert!(leaves.into_iter().all(|leaf| leaf.u.is_none()), "a range has no doubt beside it");
    // A friction that somebody has measured has the range he gives it.
    let measured = LARCH.replace("friction = 0.2", "friction = \"0.2 u 0.01\"");
    let rows = assessed(&measured).find("stands.upset", None).unwrap().value.items().to_vec();
    let left = rows.iter().find(|row| row.get("direction").unwrap() == &to_the_left()).unwrap();
    assert!(least * 1.5 < number(left, "push").shown());
}

fn to_the_left() -> Item {
    Item::Word("to the left".to_owned())
}

/// Whether the arm hangs clear is said by the angle: surely, perhaps, not; and where nothing is
/// raised there is no figure of raising.
#[test]
fn no_figures_of_raising_where_nothing_is_raised() {
    for (reading, clear, raised) in
        [("14.0", "yes", false), ("20.0", "perhaps", false), ("35.2", "no", true)]
    {
        let text = super::heavy_car();
        let text = text.replacen("value = \"35.2 deg\"", &format!("value = \"{reading} deg\""), 1);
        let out = assessed(&text);
        let found = finding(&out, "raise.stop-bolt", &LEFT, Some(State::Now));
        let by = found.value.get("clear_by").unwrap().as_leaf().unwrap();
        let (by, u) = (by.value.shown(), by.u.unwrap().shown());
        let expected = match by {
            by if 2.0 * u <= by => "yes",
            by if -2.0 * u < by => "perhaps",
            _ => "no",
        };
        assert_eq!(expected, clear, "{reading}: {by} u {u}");
        for part in ["lift", "force", "energy"] {
            let told = found.value.get(part).unwrap() != &Item::Nothing;
            assert_eq!(told, raised, "{reading} {part}");
        }
        let words = &found.why.words;
        assert_eq!(
            words.contains("hangs clear of the stop bolt already"),
            clear == "yes",
            "{words}"
        );
        assert_eq!(words.contains("It may hang clear"), clear == "perhaps", "{words}");
        let ballast = found.value.get("ballast_with_margin").unwrap() != &Item::Nothing;
        assert_eq!(ballast, clear != "yes", "{reading}: {words}");
    }
}

/// A jack point ahead of the bar would lower the arm it is to raise.
#[test]
fn a_jack_point_ahead_of_the_bar_is_refused() {
    let text = LARCH.replace("jack_point = \"-440,", "jack_point = \"440,");
    let (_, problems) = axlewright_book::read(&text);
    let told: Vec<String> = problems.iter().map(|p| p.kind.to_string()).collect();
    assert!(told.iter().any(|words| words.contains("jack point, X 440 mm")), "{told:?}");
}

/// The demo's manual allows 5 mm between the sides.
#[test]
fn both_sides_are_chosen_together() {
    let out = demo();
    let pair = &out.find("index.both-sides", None).unwrap().value;
    let trim = |side: &str| number(pair, &format!("{side}.trim")).shown();
    let difference = number(pair, "difference").shown();
    assert!((difference - (trim("left") - trim("right"))).abs() < 1e-9);
    assert!(difference.abs() <= number(pair, "allowed").shown());
    // Asked for a tenth of a millimetre, the pair changes or nothing is found: never a wider one.
    let tight = assessed(&LARCH.replace("value = \"5 mm\"", "value = \"0.5 mm\""));
    match tight.find("index.both-sides", None) {
        Some(found) => assert!(number(&found.value, "difference").shown().abs() <= 0.5),
        None => assert!(tight.cautions.iter().any(|c| c.id == "teeth.trims-apart")),
    }
}

#[test]
fn a_plated_bar_is_told_in_front_and_as_a_warning() {
    let plated = LARCH.replace("preset = \"handed\"", "finish = \"plated\"\npreset = \"handed\"");
    let out = assessed(&plated);
    assert_eq!(out.cautions.iter().filter(|c| c.id == "bar.plated").count(), 2);
    let warning = &finding(&out, "bar.warning", &LEFT, None).value.items()[0];
    assert_eq!(warning.get("id"), Some(&Item::Word("plated-spring".to_owned())));
    let ground = LARCH.replace("preset = \"handed\"", "finish = \"ground\"\npreset = \"handed\"");
    assert_eq!(assessed(&ground).cautions.iter().filter(|c| c.id == "bar.ground").count(), 2);
}
