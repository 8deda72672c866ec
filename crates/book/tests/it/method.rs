//! The method in the program, with every answer; and car files that follow it.

use std::collections::{BTreeMap, BTreeSet};

use axlewright_book::{CarFile, Method, PartState, Phase, Problem, Severity, read};

fn text() -> &'static str {
    Method::text("trailing-arm").unwrap()
}

/// Every answer to every question in turn, and each answer to the stop with each to the engine.
fn answered() -> Vec<BTreeMap<String, String>> {
    let (method, _, _) = Method::read(text(), &BTreeMap::new());
    let mut all = vec![BTreeMap::new()];
    let choices = |id: &str| {
        let question = method.questions.iter().find(|question| question.id == id).unwrap();
        question.choices.iter().filter(|choice| *choice != "lip").cloned().collect::<Vec<_>>()
    };
    for question in &method.questions {
        all.extend(choices(&question.id).into_iter().map(|c| [(question.id.clone(), c)].into()));
    }
    for stop in choices("stop") {
        for engine in choices("engine") {
            let pair = [("stop".to_owned(), stop.clone()), ("engine".to_owned(), engine)];
            all.push(pair.into());
        }
    }
    all
}

fn followed(rest: &str) -> (CarFile, Vec<Problem>) {
    read(&format!("format = 1\nmethod = \"trailing-arm 1\"\n{rest}"))
}

#[track_caller]
fn only(rest: &str, what: &str, right: &str) {
    let (_, problems) = followed(rest);
    let told: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
    assert_eq!(told, [what]);
    assert!(problems[0].right.contains(right), "{}", problems[0].right);
    assert!(1 < problems[0].line, "it stands in a line of its own");
}

#[test]
fn every_answer_leaves_a_method_without_a_problem_and_nothing_unused() {
    for answers in answered() {
        let (_, car, problems) = Method::read(text(), &answers);
        assert_eq!(problems, [], "{answers:?}");
        for part in &car.parts {
            let id = &part.id.value;
            let uses = car.steps.iter().any(|s| s.needs.iter().any(|need| need.value == *id));
            assert!(uses, "{answers:?}: no step uses `{id}`");
        }
        for joint in &car.joints {
            let id = &joint.id.value;
            let of = |list: fn(&axlewright_book::Step) -> &Vec<axlewright_book::Entry<String>>| {
                car.steps.iter().any(|step| list(step).iter().any(|name| name.value == *id))
            };
            assert!(of(|step| &step.snug), "{answers:?}: `{id}` is never run down");
            assert!(of(|step| &step.torques), "{answers:?}: `{id}` never gets its torque");
        }
    }
}

#[test]
fn every_step_warns_has_its_minutes_and_says_what_it_does_without_a_figure() {
    for answers in answered() {
        let (_, car, _) = Method::read(text(), &answers);
        for step in &car.steps {
            let id = &step.id.value;
            let caution = step.caution.as_ref().unwrap_or_else(|| panic!("{id} warns of nothing"));
            for words in [&step.words.value, &caution.value] {
                assert!(!words.contains(|c: char| c.is_ascii_digit()), "{id}: {words}");
                assert!(words.ends_with('.') && !words.contains("  "), "{id}: {words}");
            }
            assert!(step.minutes.is_some() && step.station.is_some(), "{id}");
            assert!(!step.does.is_empty(), "{id} does not say what it does");
        }
    }
}

/// A hold point is signed where it counts; a reading that cannot be retaken is read, not signed.
#[test]
fn few_kinds_of_hold_points_are_signed() {
    let mut kinds = BTreeSet::new();
    for answers in answered() {
        let (_, car, _) = Method::read(text(), &answers);
        kinds.extend(car.steps.iter().filter(|s| s.is_signed()).map(|s| s.id.text.clone()));
        let lost = car.steps.iter().filter(|step| step.reading.is_some());
        assert!(lost.clone().all(|step| step.phase == Phase::BeforeStripDown));
        assert_eq!(lost.count(), 10);
    }
    // The second hold is set twice, the car goes on stands again, and teeth are read before
    // they are
    // compared.
    let same = |id: &String| match id.as_str() {
        "holds-ready" => "holds-on".to_owned(),
        "plate-read" => "plates-compare".to_owned(),
        "to-stands" => "car-up".to_owned(),
        id => id.to_owned(),
    };
    let kinds: BTreeSet<String> = kinds.iter().map(same).collect();
    let wanted = [
        "brakes-proven",
        "car-up",
        "first-road",
        "holds-on",
        "hub-nut-torque",
        "last-look",
        "plate-wags",
        "plates-compare",
    ];
    assert_eq!(kinds.iter().map(String::as_str).collect::<Vec<_>>(), wanted);
}

#[test]
fn a_car_file_of_two_lines_holds_the_whole_work() {
    let (car, problems) = followed("");
    assert_eq!(problems, []);
    let follows = car.method().unwrap();
    assert_eq!((follows.method.written().as_str(), &follows.stopped), ("trailing-arm 1", &None));
    assert!(follows.answers.iter().all(|answer| !answer.is_given));
    for id in ["car-up", "bar-out-left", "bar-in-right", "first-road"] {
        assert_eq!(car.step(id).unwrap().line, 0, "{id} stands in no line of the file");
    }
    assert_eq!(car.part("bar-left").unwrap().state, Some(PartState::Fitted));
    let (newest, _) = read("format = 1\nmethod = \"trailing-arm\"\n");
    assert_eq!(newest.steps, car.steps);
}

#[test]
fn answers_switch_rows_on_and_off() {
    let (car, problems) = followed(
        "[answers]\nhalf_shaft = \"no\"\nbrake = \"Disc\"\nhandbrake = \"elsewhere\"\n\
         anti_roll_bar = false\nstop = \"damper\"\n",
    );
    assert_eq!(problems, []);
    for gone in ["half-shaft-off-left", "cable-on-right", "roll-bar-on", "stop-bolt-in-left"] {
        assert!(car.step(gone).is_none(), "{gone}");
    }
    assert!(car.part("pads-left").is_some() && car.part("shoes-left").is_none());
    assert!(car.joint("stop-bolt-left").is_none());
    assert_eq!(car.step("lines-off-left").unwrap().removes.len(), 1);
}

#[test]
fn the_right_side_begins_when_the_left_bar_hangs() {
    let (car, _) = followed("");
    let after = |id: &str| -> Vec<String> {
        car.step(id).unwrap().after.iter().map(|id| id.value.clone()).collect()
    };
    assert!(after("lines-off-right").contains(&"unload-bar-left".to_owned()));
    assert!(!after("lines-off-left").contains(&"unload-bar-left".to_owned()));
    assert!(after("holds-ready-right").contains(&"damper-bottom-on-left".to_owned()));
}

#[test]
fn the_car_file_changes_what_the_method_holds() {
    let (car, problems) = followed(
        "[[step]]\nid = \"bar-in\"\nminutes = 40\n\
         [[step]]\nid = \"marks-left\"\nwords = \"Mine.\"\n\
         [[step]]\nid = \"masks-on\"\nstrike = true\n\
         [[step]]\nid = \"paint\"\nphase = \"inspect and order\"\nwords = \"Paint it.\"\n\
         after = [\"verdicts\"]\n\
         [[step]]\nid = \"seats-clean\"\nafter = [\"paint\"]\n\
         [[part]]\nid = \"hose\"\nstate = \"out\"\nback_in_days = 4\n\
         [[part]]\nid = \"sandbags\"\nname = \"bags\"\n\
         [[joint]]\nid = \"hub-cover\"\nthread = \"M10x1.5\"\ncount = 4\ntorque = \"44 N m\"\n",
    );
    let told: Vec<&str> = problems.iter().map(|problem| problem.what.as_str()).collect();
    assert_eq!(told, ["the method has the part `sandbags`, but not with these answers"]);
    let minutes = |id: &str| car.step(id).unwrap().minutes.as_ref().map(|m| m.value);
    assert_eq!([minutes("bar-in-left"), minutes("bar-in-right")], [Some(40); 2]);
    assert_eq!(car.step("marks-left").unwrap().words.value, "Mine.");
    assert_ne!(car.step("marks-right").unwrap().words.value, "Mine.");
    // What came after the struck step comes after what that came after.
    assert!(car.step("masks-on").is_none());
    let after: Vec<&str> =
        car.step("seats-clean-left").unwrap().after.iter().map(|id| id.value.as_str()).collect();
    assert!(after.contains(&"verdicts") && after.contains(&"paint"), "{after:?}");
    let hose = car.part("hose-right").unwrap();
    assert_eq!((hose.state, hose.spans.is_some()), (Some(PartState::Out), true));
    let cover = car.joint("hub-cover-right").unwrap();
    assert!(cover.thread.is_some() && cover.position.is_some() && cover.caution.is_some());
}

#[test]
fn what_is_wrong_is_said_in_its_line() {
    only("[answers]\nbrakes = \"disc\"\n", "the method asks no question `brakes`", "`brake`");
    only(
        "[answers]\nbrake = \"dics\"\n",
        "`answers.brake` is `dics`, which is no answer to it",
        "`disc`",
    );
    only(
        "[answers]\nstop = \"lip\"\n",
        "the method is not for this car: the plate rests on a lip of the housing and is levered \
         over it, so the cover comes off a wound bar",
        "maker's tool",
    );
    only(
        "[[step]]\nid = \"bar-in\"\nphase = \"assembly\"\n",
        "`step.phase` does not belong in a row of a step of the method",
        "write your own",
    );
    only(
        "[[step]]\nid = \"mine\"\nphase = \"assembly\"\nwords = \"So.\"\nstrike = true\n",
        "`step.strike` does not belong in a row of the file's own",
        "take your own row out",
    );
    only(
        "[[part]]\nid = \"bar\"\nspans = \"hose\"\n",
        "`part.spans` does not belong in a row of a part of the method",
        "the method says it",
    );
    let told = |text: &str| read(text).1.remove(0).what;
    let unknown = told("format = 1\nmethod = \"leading-arm\"\n");
    assert_eq!(unknown, "`method` is `leading-arm`, and the program has no such method");
    let unknown = told("format = 1\nmethod = \"trailing-arm 7\"\n");
    assert!(unknown.contains("no such method"), "{unknown}");
    assert!(told("format = 1\n[answers]\nbrake = \"disc\"\n").contains("follows none"));
}

/// With a lip nothing of the method is taken: there the cover comes off a wound bar.
#[test]
fn where_the_method_does_not_serve_none_of_it_is_taken() {
    let (car, problems) = followed("[answers]\nstop = \"lip\"\n");
    assert!(problems.iter().all(|problem| problem.severity == Severity::Error));
    assert!(car.steps.is_empty() && car.parts.is_empty() && car.joints.is_empty());
    assert!(car.method().unwrap().stopped.is_some());
}

/// Somebody else's method comes along row by row, and is the same work.
#[test]
fn rows_written_into_a_car_file_are_the_steps_of_the_method() {
    for answers in answered().into_iter().step_by(3) {
        let (_, method, _) = Method::read(text(), &answers);
        let file = format!("format = 1\n{}", Method::rows(text(), &answers));
        let (car, problems) = read(&file);
        assert_eq!(problems, [], "{answers:?}");
        let ids = |car: &CarFile| -> Vec<(String, Vec<String>)> {
            let after = |step: &axlewright_book::Step| {
                step.after.iter().map(|id| id.value.clone()).collect()
            };
            car.steps.iter().map(|step| (step.id.value.clone(), after(step))).collect()
        };
        assert_eq!(ids(&car), ids(&method), "{answers:?}");
        assert_eq!((car.parts.len(), car.joints.len()), (method.parts.len(), method.joints.len()));
    }
}

#[test]
fn what_is_wrong_with_a_method_is_said() {
    let told = |from: &str, to: &str| {
        assert!(text().contains(from), "{from}");
        let (_, _, problems) = Method::read(&text().replacen(from, to, 1), &BTreeMap::new());
        problems.into_iter().next().map(|problem| problem.what).unwrap_or_default()
    };
    let wrong = told("when = \"brake = drum\"", "when = \"brakes = drum\"");
    assert_eq!(wrong, "`part.when` is `brakes = drum`, which is no question with its answers");
    let wrong = told("[method]\n", "[methods]\n");
    assert_eq!(wrong, "the text does not say `[method]`");
    let wrong = told("id = \"make-safe\"", "id = \"make-sure\"");
    assert!(wrong.contains("there is no such step"), "{wrong}");
    assert_eq!(told("[[question]]", "[[quest]]"), "unknown section `[quest]`");
}
