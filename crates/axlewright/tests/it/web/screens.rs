//! Every screen: there, whole, light, and without anything that the policy would have to allow.

use std::collections::BTreeSet;

use super::{Bench, DEMO_CAR, Page};
use crate::common::run;

const SCREENS: [&str; 26] = [
    "/",
    "/all",
    "/order",
    "/order/1",
    "/order/back-out",
    "/step/marks-left",
    "/splines",
    "/readings",
    "/readings?what=trim&side=left",
    "/geometry/LR",
    "/geometry/RR?angle=20",
    "/joints",
    "/joints/hub-cover-left",
    "/wheels",
    "/wheels/forecast",
    "/parts",
    "/parts?q=damper&at=out",
    "/parts/damper-left",
    "/car",
    "/car/text",
    "/marks",
    "/log",
    "/log/1",
    "/dossier",
    "/settings",
    "/why/free-angle.target?of=LR",
];

/// The values of an attribute.
fn values<'a>(html: &'a str, attribute: &str) -> Vec<&'a str> {
    let begin = format!(" {attribute}=\"");
    html.split(&begin).skip(1).filter_map(|rest| rest.split('"').next()).collect()
}

#[test]
fn every_screen_is_whole_light_and_without_anything_inline() {
    let page = Page::open();
    for path in SCREENS {
        let answer = page.get(path).is(200);
        let policy = answer.header("content-security-policy").unwrap();
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(answer.header("x-content-type-options"), Some("nosniff"), "{path}");
        let html = answer.text();
        assert!(html.len() <= 150_000, "{path} has {} bytes", html.len());
        for one in ["<main ", "<h1>", "<nav class=\"ways\"", "class=\"skip\"", "lang=\"en\""] {
            assert_eq!(html.matches(one).count(), 1, "{one} on {path}");
        }
        assert!(values(&html, "style").is_empty(), "{path} carries style");
        assert!(!html.contains("<style"), "{path} carries style");
        assert_eq!(html.matches("<script").count(), 1, "{path}");
        assert!(!html.contains("http://") || html.contains("xmlns=\"http://www.w3.org"), "{path}");
        let ids = values(&html, "id");
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "{path}: {ids:?}");
        // Every label belongs to a field that is there.
        for label in values(&html, "for") {
            assert!(unique.contains(label), "{path}: a label for `{label}`");
        }
        for event in ["onclick", "onload", "onerror", "onsubmit", "javascript:"] {
            assert!(!html.contains(event), "{path}: {event}");
        }
    }
}

/// The paths that pages of ours lead to, from the first on.
fn crawled(page: &Page) -> Vec<(String, String)> {
    let mut waiting: Vec<String> = SCREENS.map(str::to_owned).to_vec();
    let mut seen: BTreeSet<String> = waiting.iter().cloned().collect();
    let mut pages = Vec::new();
    while let Some(path) = waiting.pop() {
        let html = page.get(&path).text();
        for link in values(&html, "href") {
            let link = link.replace("&amp;", "&");
            let whole = link.split('#').next().unwrap_or_default();
            let leads_on = ["/joints/", "/geometry/", "/order/"];
            if leads_on.iter().any(|begin| whole.starts_with(begin)) && seen.insert(whole.into()) {
                waiting.push(whole.to_owned());
            }
        }
        pages.push((path, html));
    }
    pages
}

#[test]
fn every_finding_of_the_demo_is_on_the_sheet_and_on_the_page() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| run(folder.path(), args).ends_with(0);
    run(&["demo", "--once", "--no-open", "--out", "demo"]);
    let sheet = run(&["sheet", "demo/book", "--forecast", "--out", "-"]).out;
    let on_sheet: BTreeSet<&str> = values(&sheet, "data-finding").into_iter().collect();
    let page = Page::of(Bench::own(&folder.path().join("demo/book"), "Ann").unwrap());
    let pages = crawled(&page);
    let on_page: BTreeSet<&str> =
        pages.iter().flat_map(|(_, html)| values(html, "data-finding")).collect();
    let mut ids: BTreeSet<String> = BTreeSet::new();
    for command in ["sheet", "order", "forecast"] {
        for finding in run(&[command, "demo/book", "--json"]).json()["findings"].as_array().unwrap()
        {
            ids.insert(finding["id"].as_str().unwrap().to_owned());
        }
    }
    assert!(50 < ids.len(), "{ids:?}");
    for id in &ids {
        assert!(on_sheet.contains(id.as_str()), "{id} is on no page of the sheet");
        assert!(on_page.contains(id.as_str()), "{id} is on no screen");
    }
    // What leads on the screen of the teeth comes before either side.
    let teeth = page.get("/splines").text();
    let apart = teeth.find("data-finding=\"free-angle.left-right\"").unwrap();
    assert!(apart < teeth.find("id=\"teeth-LR\"").unwrap());
}

#[test]
fn texts_go_packed_to_whoever_can_unpack_them() {
    let page = Page::open();
    let packed = |path: &str| {
        let ask = format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n",
            page.host
        );
        page.send(ask.as_bytes()).is(200)
    };
    let plain = page.get("/splines");
    assert_eq!(plain.header("content-encoding"), None);
    let answer = packed("/splines");
    assert_eq!(answer.header("content-encoding"), Some("gzip"));
    assert!(answer.body.len() * 3 < plain.body.len(), "{} bytes", answer.body.len());
    let text = plain.text();
    let style = values(&text, "href").into_iter().find(|path| path.ends_with(".css")).unwrap();
    assert_eq!(packed(style).header("content-encoding"), Some("gzip"));
}

#[test]
fn links_lead_somewhere() {
    let page = Page::open();
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for path in SCREENS {
        for link in values(&page.get(path).text(), "href") {
            let link = link.replace("&amp;", "&");
            let whole = link.split('#').next().unwrap_or_default().to_owned();
            if !whole.is_empty() && seen.insert(whole.clone()) {
                let status = page.get(&whole).status;
                assert!(status == 200 || status == 303, "{whole} on {path}: {status}");
            }
        }
    }
    assert!(100 < seen.len(), "only {} links were found", seen.len());
}

#[test]
fn a_form_is_written_and_another_is_given_back_with_what_was_typed() {
    let page = Page::open();
    let before = page.seq();
    let fields = [
        ("what", "plate angle"),
        ("side", "left"),
        ("value", "33.0 deg"),
        ("arrow", "nose"),
        ("hung", "plate"),
    ];
    let answer = page.post("/readings", &fields).is(303);
    let to = answer.header("location").unwrap().to_owned();
    assert_eq!(to, format!("/readings?wrote={}&form=reading", before + 1));
    assert!(page.get(&to).text().contains("33.0 deg"));
    let wrong = [("what", "plate angle"), ("side", "left"), ("value", "thirty <about>")];
    let html = page.writes_nothing(|page| page.post("/readings", &wrong)).is(422).text();
    assert!(html.contains("Not written: "), "{html}");
    assert!(html.contains("value=\"thirty &lt;about&gt;\""), "what was typed is lost:\n{html}");
    assert!(html.contains("aria-invalid=\"true\""), "no field is marked");
}

#[test]
fn parts_are_found_by_words_and_by_where_they_are_and_come_a_hundred_at_a_time() {
    let page = Page::open();
    let found = |path: &str| {
        let html = page.get(path).is(200).text();
        let list = html.split("class=\"links sided part-list\"").nth(1).unwrap_or_default();
        let list = list.split("</ul>").next().unwrap_or_default();
        let ids = list.split("href=\"/parts/").skip(1).filter_map(|rest| rest.split('"').next());
        (ids.map(str::to_owned).collect::<Vec<_>>(), html.contains(">More parts<"))
    };
    let (all, more) = found("/parts");
    assert!(20 < all.len() && !more, "{all:?}");
    let (dampers, _) = found("/parts?q=DAMPER");
    let named: Vec<&String> = all.iter().filter(|id| id.contains("damper")).collect();
    assert!(!named.is_empty() && named.iter().all(|id| dampers.contains(id)), "{dampers:?}");
    assert!(dampers.len() < all.len());
    let is_out = || found("/parts?q=damper&at=out").0.contains(&"damper-left".to_owned());
    assert!(!is_out());
    page.post("/parts/damper-left", &[("happened", "ordered")]).is(303);
    assert!(is_out());
    assert!(found("/parts?q=no+such+part").0.is_empty());
    for number in 0..=100 {
        let id = format!("shim-{number:03}");
        page.post("/parts", &[("part", &id), ("name", "shim"), ("happened", "tagged")]).is(303);
    }
    let (shims, more) = found("/parts?q=shim");
    assert!(more && shims.len() == 100, "{}", shims.len());
    assert_eq!(found("/parts?q=shim&after=100"), (vec!["shim-100".to_owned()], false));
}

/// The rows of a page that lead to a step, a joint or a part: where to, and the side at their edge.
fn rows(html: &str) -> Vec<(String, Option<String>)> {
    let row = |piece: &str| {
        let to = values(piece, "href").first().map(|to| (*to).to_owned())?;
        let side = values(piece, "data-side").first().map(|side| (*side).to_owned());
        let leads = ["/step/", "/joints/", "/parts/"].iter().any(|begin| to.starts_with(begin));
        leads.then_some((to, side))
    };
    html.split("<li").skip(1).filter_map(|piece| row(piece.split("</li>").next()?)).collect()
}

#[test]
fn left_and_right_are_told_at_the_edge_of_every_row() {
    // Half the job is done in it, so that there is something to undo.
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), &["demo", "--once", "--no-open", "--out", "demo"]).ends_with(0);
    let page = Page::of(Bench::own(&folder.path().join("demo/book"), "Ann").unwrap());
    let mut counted = [0_usize; 3];
    let back_out = "/order/back-out?what=bar-out-left";
    let mut paths = ["/", "/joints", "/parts", "/dossier", "/step/bar-in-right", back_out]
        .map(str::to_owned)
        .to_vec();
    paths.extend((1..=40).map(|stretch| format!("/order/{stretch}")));
    let mut lists = 0;
    for path in paths {
        let rows = rows(&page.get(&path).text());
        lists += usize::from(!rows.is_empty());
        for (to, side) in rows {
            let ends = |side: &str| to.ends_with(&format!("-{side}"));
            let expected = ["left", "right"].into_iter().find(|side| ends(side));
            assert_eq!(side.as_deref(), expected, "{to} on {path}");
            let which = expected.map_or(2, |side| usize::from(side == "right"));
            counted[which] += 1;
        }
    }
    assert!(5 < lists && counted.iter().all(|rows| 10 < *rows), "{lists} lists, {counted:?}");
    let undo = page.get(back_out).text();
    assert!(4 < rows(&undo).len() && undo.contains(">L 41. Swing the arm"), "{undo}");
}

#[test]
fn a_key_where_a_button_is_meant_writes_nothing_and_says_so() {
    let page = Page::open();
    let typed = [("value", "43 N m"), ("wrench", "middle click wrench"), ("enter", "yes")];
    let html = page
        .writes_nothing(|page| page.post("/joints/hub-cover-left", &typed))
        .says(422, "Enter key writes nothing")
        .text();
    assert!(html.contains("value=\"43 N m\""), "what was typed is still there");
    let title = html.split("<title>").nth(1).unwrap().split("</title>").next().unwrap();
    assert!(title.starts_with("Not written: "), "{title}");
    // The same of every form that writes: the first button is the one that writes nothing.
    let mut forms = 0;
    for path in SCREENS {
        for form in page.get(path).text().split("<form ").skip(1) {
            let form = form.split("</form>").next().unwrap();
            if form.contains("method=\"post\"") && form.contains("name=\"once\"") {
                let button = form.split("<button").nth(1).unwrap();
                assert!(button.starts_with(" class=\"enter\" type=\"submit\""), "{path}: {form}");
                assert!(button.contains("name=\"enter\""), "{path}: {form}");
                forms += 1;
            }
        }
    }
    assert!(10 < forms, "{forms} forms");
}

#[test]
fn the_forecast_on_the_page_is_the_command_lines() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), DEMO_CAR).unwrap();
    let document = run(folder.path(), &["forecast", "car.toml", "--json"]).ends_with(0).json();
    let page = Page::open();
    let html = page.get("/wheels/forecast").is(200).text();
    for id in ["car.forecast", "car.budget"] {
        let found = document["findings"].as_array().unwrap().iter().find(|f| f["id"] == id);
        let words = found.unwrap()["why"]["words"].as_str().unwrap();
        assert!(html.contains(words), "{words}");
        assert!(page.get(&format!("/why/{id}")).is(200).text().contains(words), "{id}");
    }
    // Without weights nothing is foretold, and what is missing is named.
    page.post("/car/text", &[("text", "format = 1\n"), ("do", "write")]).is(303);
    let html = page.get("/wheels/forecast").is(200).text();
    assert!(html.contains("class=\"gap\"") && !html.contains("<svg"));
}

#[test]
fn a_form_that_comes_twice_is_written_once() {
    let page = Page::open();
    let number = || {
        let html = page.get("/readings").text();
        let at = html.split("name=\"once\" value=\"").nth(1).unwrap();
        at.split('"').next().unwrap().to_owned()
    };
    let (one, other) = (number(), number());
    assert!(one != other && one.contains('-'), "{one} {other}");
    let read = |once: &str, value: &str| {
        let mut fields = vec![("what", "plate angle"), ("side", "left"), ("value", value)];
        fields.extend([("arrow", "nose"), ("hung", "plate")]);
        fields.extend((!once.is_empty()).then_some(("once", once)));
        let answer = page.post("/readings", &fields).is(303);
        answer.header("location").unwrap().to_owned()
    };
    let first = read(&one, "33.0 deg");
    let seq = page.seq();
    assert_eq!(page.writes_nothing(|_| read(&one, "33.0 deg")), first);
    // The same figure read again, from a fresh page, is another reading; so is another figure, and
    // whatever has no number.
    for (once, value) in
        [(other.as_str(), "33.0 deg"), (&one, "33.1 deg"), ("", "33.0 deg"), ("", "33.0 deg")]
    {
        read(once, value);
    }
    assert_eq!(page.seq(), seq + 4);
}

#[test]
fn a_form_sent_again_while_the_first_is_still_being_written_is_written_once() {
    let page = Page::served(false);
    let before = page.seq();
    // Figures follow from a reading, so writing it takes a while.
    let fields = [
        ("what", "plate angle"),
        ("side", "left"),
        ("value", "33.0 deg"),
        ("arrow", "nose"),
        ("hung", "plate"),
        ("once", "4711"),
    ];
    let (body, host) = (super::form(&fields), &page.host);
    let head = format!(
        "POST /readings HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Type: \
         application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    );
    // A second tap makes a browser hang up on the first, at whatever moment that is.
    for ms in [1, 10, 20, 40, 80] {
        let mut first = page.connect();
        first.set_read_timeout(Some(std::time::Duration::from_millis(ms))).unwrap();
        std::io::Write::write_all(&mut first, head.as_bytes()).unwrap();
        // For so long an answer is waited for.
        let _ = std::io::Read::read(&mut first, &mut [0]);
    }
    std::thread::scope(|scope| {
        for _ in 0..4 {
            scope.spawn(|| page.post("/readings", &fields).is(303));
        }
    });
    assert_eq!(page.seq(), before + 1);
}

#[test]
fn a_car_file_is_not_written_over_one_that_came_meanwhile() {
    let page = Page::open();
    let base = |html: &str| {
        let at = html.split("name=\"base\" value=\"").nth(1).unwrap();
        at.split('"').next().unwrap().to_owned()
    };
    let old = base(&page.get("/car/text").text());
    let text = |name: &str| DEMO_CAR.replace("Larch 1300", name);
    let send = |text: &str, base: &str| {
        page.post("/car/text", &[("text", text), ("base", base), ("do", "write")])
    };
    send(&text("Larch one"), &old).is(303);
    let refused = page.writes_nothing(|_| send(&text("Larch two"), &old)).says(409, "meanwhile");
    let html = refused.text();
    assert!(html.contains("Larch two"), "what was typed is lost");
    // Who has read that, and writes all the same, is not kept from it.
    assert_ne!(base(&html), old);
    send(&text("Larch two"), &base(&html)).is(303);
    assert!(page.get("/").text().contains("Larch two"));
}

#[test]
fn a_reading_that_is_new_in_the_car_file_becomes_an_entry() {
    let page = Page::open();
    let free = || page.get("/why/free-angle.now?of=LR").is(200).text();
    let (before, was) = (page.seq(), free());
    let old = DEMO_CAR.split("[[reading]]").find(|row| row.contains("plate angle")).unwrap();
    let value = old.lines().find(|line| line.starts_with("value")).unwrap();
    let new = old.replace(value, "value = \"29.9 deg\"");
    page.post("/car/text", &[("text", &DEMO_CAR.replace(old, &new)), ("do", "write")]).is(303);
    assert!(before + 1 < page.seq(), "the reading has no entry");
    assert_ne!(free(), was, "the figures do not know of it");
}

#[test]
fn what_can_kill_stands_before_the_corrections() {
    let html = Page::open().get("/wheels").is(200).text();
    let at = |words: &str| html.find(words).unwrap_or_else(|| panic!("no `{words}`"));
    assert!(at("eccentrics") < at("With a bar drawn"), "what the manual needs comes first");
    assert!(at("A wound-up torsion bar can kill") < at("unload it first"));
    assert!(at("unload it first") < at("1 tooth tail"), "unloading comes before teeth");
}

#[test]
fn a_torque_with_the_arm_in_the_wrong_place_is_not_written() {
    let page = Page::open();
    let tap = |position: &str| {
        let fields = [("go", "1 torqued"), ("position", position), ("value", "9.6 kgf m")];
        page.post("/joints/inner-pivot-left", &fields)
    };
    for position in ["hang", "any", ""] {
        let html = page.writes_nothing(|_| tap(position)).is(422).text();
        assert!(html.contains("only at `ride`"), "{position}: {html}");
    }
    let before = page.seq();
    tap("ride").is(303);
    assert_eq!(page.seq(), before + 1);
}

#[test]
fn what_nobody_read_or_chose_is_not_written() {
    let page = Page::open();
    let torque = [("go", "1 torqued"), ("position", "ride"), ("value", " ")];
    page.writes_nothing(|page| page.post("/joints/inner-pivot-left", &torque))
        .says(422, "the torque reached is not said; the list says 9.6 kgf m");
    let place = [("what", "plate angle"), ("side", ""), ("value", "33.0 deg")];
    page.writes_nothing(|page| page.post("/readings", &place))
        .says(422, "where it was read is not said");
    let car = [("else", "tyre pressure"), ("side", "car"), ("value", "1.8 bar")];
    page.post("/readings", &car).is(303);
    let fit = |teeth, way| {
        let fields = [("side", "left"), ("anchor_teeth", teeth), ("anchor_teeth_way", way)];
        let read = [("plate_teeth", "0"), ("plate_teeth_way", ""), ("reading.value", "33.0 deg")];
        page.post("/splines", &[fields, read].concat())
    };
    page.writes_nothing(|_| fit("1", "")).says(422, "which way these teeth were turned");
    fit("0", "").is(303);
    fit("1", "up").is(303);
}

#[test]
fn a_joint_warns_before_its_figure_and_names_its_bolts_as_the_drawing_does() {
    let page = Page::open();
    let html = page.get("/joints/hub-cover-left").is(200).text();
    let at = |words: &str| html.find(words).unwrap_or_else(|| panic!("no `{words}`"));
    assert!(at("in place of") < at("class=\"reading\""), "the warning comes first");
    // Letters name the bolts, numerals their turns; crosswise, as the drawing has it.
    let turn = |letter: &str, turn: u32| at(&format!("<b>Bolt {letter}</b><span>· turn {turn}<"));
    assert!(turn("A", 1) < turn("C", 2) && turn("C", 2) < turn("D", 3));
    assert!(turn("D", 3) < turn("B", 4));
    assert!(at("value=\"3 snug\"") < at("Bolt C: snug"), "the entry has the bolt's number");
    assert!(at("the nose of the car to the left") < at("Bolt C: snug"));
    let right = page.get("/joints/hub-cover-right").text();
    assert!(right.contains("the nose of the car to the right"));
    assert!(html.contains("write what the wrench read"));
    let list = page.get("/joints").text();
    let row = list.split("/joints/hub-cover-left").nth(1).unwrap();
    assert!(row.split("</a>").next().unwrap().contains("see its warning"), "{row}");
}

#[test]
fn a_step_is_done_signed_struck_and_not_done_again() {
    let (page, step) = (Page::open(), "/step/hard-bolts");
    let sign = |page: &Page, name: &str| page.post(step, &[("happened", "signed"), ("name", name)]);
    // Before it is done there is nothing to be signed, and no form for it.
    assert!(!page.get(step).text().contains("name=\"name\""));
    page.writes_nothing(|page| sign(page, "Ann")).says(422, "is not done");
    page.post(step, &[("happened", "done"), ("minutes", "12")]).is(303);
    let done = page.seq();
    assert!(page.get(step).text().contains("12 min in all"));
    page.writes_nothing(|page| page.post(step, &[("happened", "done")]))
        .says(422, "is done already");
    page.writes_nothing(|page| sign(page, "")).says(422, "nobody");
    sign(&page, "Ann").is(303);
    assert!(page.get(step).text().contains("Signed by Ann"));
    page.post(&format!("/log/{done}"), &[("why", "was the right one")]).is(303);
    assert!(!page.get(step).text().contains("12 min in all"));
    assert!(page.get(&format!("/log/{done}")).text().contains("Struck"));
    // What was signed is no longer done: the dossier says so.
    let dossier = page.get("/dossier/print").text();
    assert!(dossier.contains(&format!("entry {done}, on which it stood, was struck")), "{dossier}");
}

#[test]
fn what_is_left_behind_asks_for_a_reason() {
    let page = Page::open();
    let step = "/step/lines-off-left";
    let html = page.get(step).text();
    assert!(!html.contains("name=\"in_spite\""), "nobody asked for it yet");
    let refused = page.writes_nothing(|page| page.post(step, &[("happened", "done")]));
    let html = refused.says(422, "is not read yet").text();
    assert!(html.contains("name=\"in_spite\""), "{html}");
    page.post(step, &[("happened", "done"), ("in_spite", "it came without")]).is(303);
    let droop = "/step/droop-first-left";
    page.writes_nothing(|page| page.post(droop, &[("happened", "waived")])).says(422, "why");
    page.post(droop, &[("happened", "waived"), ("note", "no springs in it")]).is(303);
    assert!(page.get(droop).text().contains("Given up"));
    // The whole job: what is open is said, and a reason is asked for.
    let html = page.get("/dossier").text();
    assert!(html.contains("Not to be signed yet: ") && html.contains("name=\"in_spite\""));
    let sign = |more: &[(&str, &str)]| {
        page.post("/sign", &[&[("of", "job"), ("name", "Ann")], more].concat())
    };
    page.writes_nothing(|_| sign(&[])).says(422, "steps open");
    sign(&[("in_spite", "he pays today")]).is(303);
    let dossier = page.get("/dossier/print").text();
    assert!(dossier.contains("signed with ") && dossier.contains("he pays today"));
}

#[test]
fn the_car_file_is_looked_through_before_it_is_written() {
    let page = Page::open();
    let text = axlewright::desk::DEMO_CAR;
    let wrong = text.replacen("540 mm", "540 furlongs", 1);
    let look = [("text", wrong.as_str()), ("do", "write")];
    let html = page.writes_nothing(|page| page.post("/car/text", &look)).is(422).text();
    assert!(html.contains("furlongs"), "what was typed is lost");
    assert!(html.contains("Line "), "no line is named:\n{}", &html[..3000.min(html.len())]);
    let right = text.replacen("540 mm", "545 mm", 1);
    page.writes_nothing(|page| page.post("/car/text", &[("text", &right), ("do", "look")])).is(200);
    page.post("/car/text", &[("text", &right), ("do", "write")]).is(303);
    assert!(page.get("/car/text").text().contains("545 mm"));
}

#[test]
fn the_dossier_carries_its_own_style_and_exactly_that_is_allowed() {
    let page = Page::open();
    for path in ["/dossier/print", "/dossier/sheet/print"] {
        let answer = page.get(path).is(200);
        let policy = answer.header("content-security-policy").unwrap().to_owned();
        assert!(policy.contains("style-src 'sha256-") && !policy.contains("unsafe"), "{policy}");
        let html = answer.text();
        assert_eq!(html.matches("<style>").count(), policy.matches("'sha256-").count(), "{path}");
        assert!(!html.contains("<script") && values(&html, "style").is_empty(), "{path}");
    }
    for path in ["/dossier/file", "/dossier/sheet"] {
        let kept = page.get(path).is(200);
        assert!(kept.header("content-disposition").unwrap().starts_with("attachment"), "{path}");
    }
}

/// "Not said" is not "no": a round of which nobody said whether it had settled is gone by.
#[test]
fn whether_a_round_had_settled_may_be_left_unsaid() {
    let page = Page::open();
    for (sent, written) in [("", None), ("yes", Some(true)), ("no", Some(false))] {
        let fields = [("load", "empty, half a tank"), ("trim.LR", "99 mm"), ("settled", sent)];
        page.post("/wheels/round", &fields).is(303);
        let entry = page.get(&format!("/log/{}", page.seq())).is(200).text();
        let words = if written == Some(true) { Some("settled") } else { None };
        assert_eq!(entry.contains("not settled"), written == Some(false), "{sent}: {entry}");
        assert_eq!(
            entry.replace("not settled", "").contains("settled"),
            words.is_some(),
            "{sent}: {entry}"
        );
    }
}
