//! What the brakes are worth as forces, and the speeds still permitted, over HTTP: the page and the
//! answer for programs say the same.

use serde_json::Value;
use tests::each_database;
use tests::page::Page;

use super::sample::Served;

const CLOSED: &str = "close=4101%3A%3DBS1-QM1%3Aclosed_vented";

async fn answer(served: &Served, query: &str) -> Value {
    let path = format!("/api/v1/decision?{query}");
    served.visitor().get(&path).await.json()
}

async fn a_bogie_less_passes_the_limit_of_adhesion_where_the_demand_is_shared(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get(&format!("/trains/T1?{CLOSED}")).await;
    let most = page.texts(".limits tbody tr:first-child td");
    assert!(
        most.iter().any(|cell| cell.contains("above the limit")),
        "{most:?}"
    );
    let forces = answer(&served, &format!("train=T1&{CLOSED}")).await["forces"].take();
    assert_eq!(forces["demand_sharing"], "over_the_train");
    let axles = forces["adhesion"].as_array().unwrap();
    assert_eq!(axles.len(), 22, "two of 24 axles do not brake");
    for axle in axles {
        let (limit, shared) = (axle["limit"].as_f64(), axle["shared"].as_f64());
        assert!(
            axle["not_shared"].as_f64() < limit && limit < shared,
            "{axle}"
        );
    }
    assert_eq!(forces["heat"].as_array().unwrap().len(), 6);
    assert_eq!(forces["missing"], Value::Array(Vec::new()));
}

async fn braked_weights_from_forces_stand_beside_the_assessed_ones(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get("/trains/T2").await;
    let rows = page.texts("#braked-weights tbody tr");
    let weights = answer(&served, "train=T2").await["forces"]["braked_weights"].take();
    let weights = weights.as_array().unwrap();
    assert_eq!((weights.len(), rows.len()), (4, 8), "{rows:?}");
    for (of, row) in weights.iter().zip(rows.iter().step_by(2)) {
        let tonnes = of["from_forces_kg"].as_f64().unwrap() / 1000.0;
        assert!(row.contains(&format!("{tonnes} t")), "{row}");
        let groups = of["groups"].as_array().unwrap();
        assert_eq!(groups[0]["assessed_kg"], of["assessed_kg"]);
    }
}

/// Points along a path of one move and quadratic curves.
fn points(path: &str) -> Vec<(f64, f64)> {
    let number = |text: &str| text.trim_start_matches(['M', 'Q']).parse::<f64>().unwrap();
    let numbers: Vec<f64> = path.split(' ').map(number).collect();
    let places: Vec<(f64, f64)> = numbers.chunks(2).map(|xy| (xy[0], xy[1])).collect();
    let mut all = vec![places[0]];
    for curve in places[1..].chunks(2) {
        let (from, control, to) = (*all.last().unwrap(), curve[0], curve[1]);
        for step in 1..=20 {
            let t = f64::from(step) / 20.0;
            let at = |from: f64, control: f64, to: f64| {
                (1.0 - t) * (1.0 - t) * from + 2.0 * t * (1.0 - t) * control + t * t * to
            };
            all.push((at(from.0, control.0, to.0), at(from.1, control.1, to.1)));
        }
    }
    all
}

/// Bold words of 14 pixels: 8 a character, 5 below the foot of the letters and 13 above.
fn no_label_lies_across_a_curve(page: &Page) {
    let drawing = "svg.speed-distance.drawing";
    let curves = page.attributes(&format!("{drawing} .course"), "d");
    let curves: Vec<(f64, f64)> = curves.into_iter().flat_map(points).collect();
    let label = format!("{drawing} .on-course");
    let attributes = |name| page.attributes(&label, name);
    let number = |text: &str| text.parse::<f64>().unwrap();
    let places = attributes("x").into_iter().zip(attributes("y"));
    let mut boxes: Vec<(f64, f64, f64)> = Vec::new();
    for ((x, y), words) in places.zip(page.texts(&label)) {
        let (left, y, width) = (number(x), number(y), 8.0 * words.chars().count() as f64);
        let across = |at: &&(f64, f64)| {
            (left..left + width).contains(&at.0) && (y - 13.0..y + 5.0).contains(&at.1)
        };
        assert_eq!(curves.iter().find(across), None, "{words}");
        boxes.push((left, left + width, y));
    }
    assert_eq!(boxes.len(), page.count(&format!("{drawing} > g .stand")));
    for (at, one) in boxes.iter().enumerate() {
        let apart = |other: &(f64, f64, f64)| {
            other.1 <= one.0 || one.1 <= other.0 || 17.0 <= (other.2 - one.2).abs()
        };
        assert!(boxes[at + 1..].iter().all(apart), "{boxes:?}");
    }
}

async fn speeds_over_distance_are_those_of_the_methods_chosen(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get(&format!("/trains/T1?{CLOSED}")).await;
    assert_eq!(page.count("svg.speed-distance.drawing .course"), 6);
    assert_eq!(page.count(".permitted tbody tr"), 9);
    assert_eq!(page.count(".permitted tbody tr.asked"), 1);
    no_label_lies_across_a_curve(&page);
    let sound = visitor.get("/trains/T1?method=forces&gradient=-12").await;
    no_label_lies_across_a_curve(&sound);
    let same = "as it stands: the same as with nothing cut out";
    assert!(sound.text("main").contains(same));
    assert_eq!(sound.count("svg.speed-distance.drawing .course"), 1);
    assert_eq!(sound.count(".permitted tbody tr"), 10);
    assert_eq!(sound.count(".permitted tbody tr:first-child td"), 2);
    let answer = answer(&served, &format!("train=T1&method=forces&{CLOSED}")).await;
    let courses = answer["speed_over_distance"].as_array().unwrap();
    assert_eq!(courses.len(), 1);
    let after = courses[0]["after"].as_array().unwrap();
    let distance = answer["stopping_distances"][3].clone();
    assert_eq!(
        (&distance["method"], &distance["after"]),
        (&"forces".into(), &after.last().unwrap()[0])
    );
    assert_eq!(after.last().unwrap()[1], 0.0);
    let speeds = answer["permitted_speeds"]["speeds"].as_array().unwrap();
    assert_eq!(speeds.len(), 9);
    let unknown = visitor.get("/trains/T1?method=guess").await;
    assert_eq!(unknown.status(), 422);
}

async fn without_a_signalling_distance_there_is_no_table(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served
        .visitor()
        .get("/trains/T1?signalling_distance=")
        .await;
    assert_eq!(page.count(".permitted"), 0);
    assert!(
        page.text("#speeds ~ .missing")
            .contains("signalling distance of the question")
    );
    let answer = answer(&served, "train=T1&signalling_distance=").await;
    assert_eq!(
        answer["permitted_speeds"]["missing"][0]["what"],
        "signalling distance"
    );
}

async fn every_step_is_folded_until_it_is_asked_for_and_stays_so_over_clicks(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1").await;
    assert_eq!(page.count("#steps ~ details[open]"), 0);
    let all = page.count("#steps ~ details");
    let unfolded = visitor.get("/trains/T1?steps=every").await;
    assert_eq!(unfolded.count("#steps ~ details[open]"), all);
    let next = unfolded.attributes("svg.train a.cock", "href");
    assert!(!next.is_empty());
    let stay = |address: &&str| address.ends_with("&steps=every");
    assert!(next.iter().all(stay), "{next:?}");
}

async fn what_holds_is_limited_by_the_usual_adhesion_and_says_so(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let usual = visitor.get("/trains/T1").await;
    assert!(
        usual
            .text("#holding tr")
            .contains("an adhesion of at most 0.12")
    );
    assert!(usual.text(".asked-line").contains("0.12 (assumed)"));
    let unknown = visitor.get("/trains/T1?holding_adhesion=").await;
    assert!(
        unknown
            .text("#holding tr")
            .contains("not limited by adhesion")
    );
    let kept = async |query: &str| {
        let found = answer(&served, &format!("train=T1{query}")).await["holding_gradient"].take();
        let source = found["steps"][0]["source"].as_str().unwrap().to_owned();
        (found["after"].as_f64().unwrap(), source)
    };
    let (slippery, source) = kept("&holding_adhesion=0.05").await;
    let (published, law) = kept("").await;
    assert!(slippery < published && published <= kept("&holding_adhesion=").await.0);
    assert_eq!(source, "entered: adhesion given with the question");
    assert_eq!(law, "Regulation (EU) 1302/2014, annex, 4.2.4.6.1");
    let unread = visitor.get("/trains/T1?holding_adhesion=2").await;
    assert_eq!(unread.status(), 422);
}

async fn the_page_shows_the_margin_of_the_sound_train_and_what_each_brake_must_show(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get(&format!("/trains/T1?{CLOSED}")).await;
    assert_eq!(page.count("#performance tbody tr"), 5);
    assert_eq!(page.count("#performance .lost"), 0);
    let parts = page.texts("#part-states tbody tr");
    assert!(
        parts[0].contains("bogie 1, main brake") && parts[0].contains("isolated"),
        "{parts:?}"
    );
}

async fn air_behind_a_closed_supply_is_counted_in_applications_and_where_it_is_drained(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let sound = visitor.get("/trains/T1").await;
    assert_eq!(sound.count("#stored-air"), 0);
    let page = visitor
        .get("/trains/T1?close=4101%3A%3DBS-QM1%3Asupply_cut")
        .await;
    let rows = page.texts("#stored-air tbody tr");
    assert_eq!(rows.len(), 1, "{rows:?}");
    for words in [
        "=BS-CM1",
        "125 l",
        "8 brakes",
        "full application",
        "=BS-QM2",
    ] {
        assert!(rows[0].contains(words), "{words} in {rows:?}");
    }
}

async fn programs_are_told_of_stored_air_and_of_each_brake_what_the_page_tells(url: &str) {
    let served = Served::with_trains(url).await;
    let cut = "close=4101%3A%3DBS-QM1%3Asupply_cut";
    let page = served.visitor().get(&format!("/trains/T1?{cut}")).await;
    let told = answer(&served, &format!("train=T1&{cut}")).await;
    let stored = told["stored_air"].as_array().unwrap();
    assert_eq!(stored.len(), 1, "{stored:?}");
    assert_eq!(stored[0]["at"]["position"], "=BS-CM1");
    assert_eq!(stored[0]["volume_l"], 125);
    assert_eq!(stored[0]["drains"][0]["position"], "=BS-QM2");
    let left = stored[0]["full_applications"].as_u64().unwrap();
    let row = page.text("#stored-air tbody tr");
    assert!(row.contains(&format!("{left} full application")), "{row}");
    assert!(!stored[0]["steps"].as_array().unwrap().is_empty());
    let closed = answer(&served, &format!("train=T1&{CLOSED}")).await;
    let states = closed["brake_states"].as_array().unwrap();
    let in_state = |state: &str| states.iter().filter(|one| one["state"] == state).count();
    assert_eq!(in_state("isolated"), 4, "the calipers of one bogie");
    assert_eq!(in_state("isolated") + in_state("released"), states.len());
}

/// The relation S = C/(λ + D) with the constants of 120 and 100 km/h, which the triples of Regulation
/// (EU) 321/2013, table C.3, confirm: `published::wag_tsi`.
async fn the_relation_answers_from_lower_speeds_where_it_has_no_constants_and_says_so(url: &str) {
    let served = Served::with_trains(url).await;
    let asked = |speed: u32| format!("/trains/T1?{CLOSED}&gradient=0&speed={speed}");
    let page = served.visitor().get(&asked(160)).await;
    let percent: Vec<f64> = page
        .texts("#percentage tr:first-child .number")
        .iter()
        .take(2)
        .map(|text| text.trim_end_matches(" %").parse().unwrap())
        .collect();
    let names = page.texts("#stopping th");
    assert!(names[1].contains("from 120 km/h only: not the speed asked for"));
    assert!(names[2].contains("from 100 km/h only: not the speed asked for"));
    let first = page.text("#stopping tr:first-child");
    assert!(first.contains("no answer"), "{first}");
    for (row, (c, d)) in [(2, (83_634.0, 19.0)), (3, (52_840.0, 10.0))] {
        let told = page.texts(&format!("#stopping tr:nth-child({row}) .number"));
        for (told, percent) in told.iter().zip(&percent) {
            let metres: f64 = told.trim_end_matches(" m").parse().unwrap();
            let by_hand = c / (percent + d);
            assert!((metres - by_hand).abs() < 0.11, "{told}, {by_hand}");
        }
    }
    let answered = served.visitor().get(&asked(120)).await;
    let rows = answered.text("#stopping");
    assert!(!rows.contains("only: not the speed"), "{rows}");
}

each_database!(
    a_bogie_less_passes_the_limit_of_adhesion_where_the_demand_is_shared,
    braked_weights_from_forces_stand_beside_the_assessed_ones,
    speeds_over_distance_are_those_of_the_methods_chosen,
    without_a_signalling_distance_there_is_no_table,
    every_step_is_folded_until_it_is_asked_for_and_stays_so_over_clicks,
    what_holds_is_limited_by_the_usual_adhesion_and_says_so,
    the_page_shows_the_margin_of_the_sound_train_and_what_each_brake_must_show,
    air_behind_a_closed_supply_is_counted_in_applications_and_where_it_is_drained,
    programs_are_told_of_stored_air_and_of_each_brake_what_the_page_tells,
    the_relation_answers_from_lower_speeds_where_it_has_no_constants_and_says_so,
);
