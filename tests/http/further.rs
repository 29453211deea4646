//! Further questions about a train, read over HTTP from the real invented designs.

use reqwest::StatusCode;
use tests::each_database;
use tests::page::Page;

use super::sample::Served;

/// A dump valve of the leading car.
const VALVE: &str = "car=4101&position=%3DBS1-QN6";

async fn what_to_close_lists_the_cylinder_cock_first_with_verdicts_and_drains(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get("/trains/T1/closing").await;
    let form = page
        .form("form.filters")
        .fill("car", "4101")
        .fill("position", "=BS1-QN6");
    let page = served.visitor().submit(&form).await;
    let cocks = page.texts("table.closing tbody tr td:first-child");
    assert!(
        cocks[0].starts_with("Car 4101 =BS1-QM1, label B1"),
        "{cocks:?}"
    );
    assert!(
        cocks[1].starts_with("Car 4101 =BS-QM1, label B0"),
        "{cocks:?}"
    );
    let before_work = page.texts("table.closing tbody tr td:last-child");
    // What is lost at once and kept later is the greater loss, and neither is told alone.
    let takes = page.texts("table.closing tbody tr td:nth-child(2)");
    assert!(
        takes.iter().all(
            |takes| takes.contains(" at once") && takes.contains(" once stored air is used up")
        ),
        "{takes:?}"
    );
    let tonnes = |text: &String| -> f64 { text.split(' ').next().unwrap().parse().unwrap() };
    let bold = page.texts("table.closing tbody td:nth-child(2) > strong");
    let other = page.texts("table.closing tbody td:nth-child(2) > small:nth-of-type(1)");
    for (bold, other) in bold.iter().zip(&other) {
        assert!(tonnes(bold) >= tonnes(other), "{bold}, {other}");
    }
    assert!(before_work[0].contains("The cock empties the pipe"));
    assert!(
        before_work[1].contains("car 4101 =BS-CM1, 125 l: drain at car 4101 =BS-QM2"),
        "{before_work:?}"
    );
    assert!(
        before_work[1].contains("if it is still full, none with slide protection acting"),
        "{before_work:?}"
    );
    // A verdict of both rule sets, and the way to look at it as a what-if.
    assert_eq!(
        page.count("table.closing tbody tr:first-child td:nth-child(3) p"),
        2
    );
    let what_if = page.attribute("table.closing tbody tr:first-child a", "href");
    assert_eq!(
        what_if,
        Some("/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented")
    );
}

/// Where only stored air presses, draining is one way and not the best for the other brakes.
async fn what_lives_on_stored_air_is_cut_off_by_a_cock_or_drained(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let asked = "car=4101&position=%3DBS1-MB1";
    let shut = format!("{asked}&close=4101%3A%3DBS-QM1%3Asupply_cut");
    for (asked, only_drains) in [(asked, false), (shut.as_str(), true)] {
        let page = visitor.get(&format!("/trains/T1/closing?{asked}")).await;
        let main = page.text("main");
        assert_eq!(main.contains("Only stored air presses there"), only_drains);
        assert!(main.contains("These are all"), "{main}");
        assert!(main.contains("contains one that needs none"), "{main}");
        let sets = page.texts("table.closing tbody tr");
        assert!(
            sets[0].starts_with("Car 4101 =BS1-QM1, label B1"),
            "{sets:?}"
        );
        assert!(sets[0].contains("No reservoir need be drained"), "{sets:?}");
        let drained = "nothing more: only stored air presses there as the train stands";
        assert_eq!(sets.iter().any(|set| set.starts_with(drained)), only_drains);
        let body = visitor
            .get(&format!("/api/v1/closing?train=T1&{asked}"))
            .await;
        assert_eq!(body.json()["only_drains"], only_drains);
    }
}

async fn a_relay_valve_is_proved_dead_at_its_supply_and_not_only_behind_itself(url: &str) {
    let served = Served::with_trains(url).await;
    let asked = "car=4101&position=%3DBS1-QN3";
    let page = served
        .visitor()
        .get(&format!("/trains/T1/closing?{asked}"))
        .await;
    let before_work = page.texts("table.closing tbody tr td:last-child");
    let supply_cut = &before_work[0];
    for said in [
        "Pipe is joined to it at 3 sides",
        "At the inlet “supply”, main air: Air stays in the pipe: let it out at car 4101 =BS-QM2. \
         Prove that it is without pressure at car 4101 =BS-XT1",
        "At the outlet, cylinder pressure: ",
        "Prove that it is without pressure at car 4101 =BS1-XT1 or car 4101 =DC-PG2",
    ] {
        assert!(supply_cut.contains(said), "{said}: {supply_cut}");
    }
    assert!(
        !supply_cut.contains("=BS2-XT1"),
        "the other bogie: {supply_cut}"
    );
    let path = format!("/api/v1/closing?train=T1&{asked}");
    let body = served.visitor().get(&path).await.json();
    let sections = body["sets"][0]["sections"].as_array().unwrap();
    assert_eq!(sections.len(), 3);
    assert_eq!(sections[2]["side"], "outlet");
}

async fn what_is_supposed_is_supposed_on_every_page_and_never_looks_like_the_train(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let supposed = "close=4101%3A%3DBS-QM1%3Asupply_cut";
    for name in [
        "circuit",
        "closing",
        "weak-points",
        "path",
        "faults",
        "revealed",
    ] {
        let stands = visitor.get(&format!("/trains/T1/{name}")).await;
        assert_eq!(stands.status(), 200, "{name}");
        assert_eq!(
            (stands.count(".stands"), stands.count(".what-if-banner")),
            (1, 0),
            "{name}"
        );
        let what_if = visitor.get(&format!("/trains/T1/{name}?{supposed}")).await;
        assert_eq!(
            (what_if.count(".stands"), what_if.count(".what-if-banner")),
            (0, 1),
            "{name}"
        );
        let formation = visitor
            .get(&format!("/decision/{name}?formation=TM101&{supposed}"))
            .await;
        assert_eq!(formation.status(), 200, "{name}");
    }
    // The supply that is cut already need not be closed.
    let page = visitor
        .get(&format!("/trains/T1/closing?{supposed}&{VALVE}"))
        .await;
    assert!(
        page.texts("table.closing tbody td:first-child")
            .iter()
            .any(|cell| cell.starts_with("nothing more")),
        "it is cut off already"
    );
}

async fn the_path_leads_from_the_compressor_through_the_cars_to_the_caliper(url: &str) {
    let served = Served::with_trains(url).await;
    let path = "/trains/T1/path?mode=service&car=4101&position=%3DBS1-MB1";
    let page = served.visitor().get(path).await;
    assert_eq!(page.text(".done"), "A source feeds it.");
    let stops = page.texts("ol.stops li");
    assert!(stops[0].contains("=AP-GQ1") || stops.iter().any(|s| s.contains("=AP-GQ1")));
    assert!(stops.last().unwrap().starts_with("=BS1-MB1"), "{stops:?}");
    let cut = format!("{path}&close=4101%3A%3DBS1-QM1%3Aclosed_vented");
    let page = served.visitor().get(&cut).await;
    assert!(page.text(".refusal").starts_with("Nothing reaches it."));
    let dead = page.texts("ol.stops li.dead");
    assert!(
        dead.iter().any(|stop| stop.contains("closed vented")),
        "{dead:?}"
    );
}

async fn fault_finding_takes_what_was_seen_and_proposes_where_to_look_next(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1/faults").await;
    let form = page
        .form("form.filters")
        .fill("car", "4101")
        .fill("position", "bogie 1")
        .fill("seen", "not_braking");
    let page = visitor.submit(&form).await;
    assert_eq!(page.count(".sights li"), 1);
    let form = page
        .form("form.filters")
        .fill("car", "4101")
        .fill("position", "bogie 2")
        .fill("seen", "braking");
    let page = visitor.submit(&form).await;
    assert_eq!(page.count(".sights li"), 2);
    let suspects = page.texts("table.suspects tbody tr");
    assert!(
        suspects[0].starts_with("4101=BS1-QM") && suspects[0].contains("stands closed"),
        "a cock first: {suspects:?}"
    );
    assert!(
        suspects.iter().all(|suspect| suspect.starts_with("4101=")),
        "{suspects:?}"
    );
    assert!(page.count("table.next tbody tr") > 0);
    let next = page.attributes("table.next a", "href");
    let fewer = visitor.get(next[0]).await;
    assert_eq!(fewer.count(".sights li"), 3);
    assert!(fewer.count("table.suspects tbody tr") <= suspects.len());
}

async fn weak_points_are_shown_and_written_as_files(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/decision/weak-points?formation=TM101").await;
    assert!(page.count("table.long tbody tr") > 40);
    let said = page.text("main");
    let number = |before: &str| -> usize {
        let after = said.split(before).nth(1).unwrap_or_default();
        let digits: String = after.chars().take_while(char::is_ascii_digit).collect();
        digits
            .parse()
            .unwrap_or_else(|_| panic!("{before}: {said}"))
    };
    let (paired, pairs) = (number("Pairs are made of the "), number(" − 1) / 2 = "));
    assert_eq!(pairs, paired * (paired - 1) / 2);
    // The greater loss stands out, whether it comes at once or later.
    let column = |of: &str| page.texts(&format!("[aria-label='Single failures'] tbody {of}"));
    let tonnes = |text: &String| -> f64 { text.split(' ').next().unwrap().parse().unwrap() };
    let (at_once, later) = (column("td:nth-child(4)"), column("td:nth-child(5)"));
    let bold = column("td.number > strong");
    assert_eq!((at_once.len(), later.len()), (bold.len(), bold.len()));
    for (bold, (at_once, later)) in bold.iter().zip(at_once.iter().zip(&later)) {
        let greater = tonnes(at_once).max(tonnes(later));
        assert!(tonnes(bold) >= greater, "{bold}: {at_once}, {later}");
    }
    // Of each of the three cars some position is in no pair.
    assert_eq!(page.count("details dt"), 3);
    let csv = visitor
        .get("/decision/weak-points.csv?formation=TM101")
        .await;
    assert_eq!(csv.header("content-type"), Some("text/csv; charset=utf-8"));
    let lines: Vec<&str> = csv.body().lines().collect();
    assert!(lines[0].starts_with("failures,car,position"));
    // The first line says how many pairs there are, and whether all that matter are here.
    let first = lines[1].split("Of ").nth(1).unwrap();
    assert!(first.starts_with(&format!("{pairs} pairs ")), "{first}");
    let here = lines.iter().filter(|line| line.starts_with("2,")).count();
    let take: usize = first.split(' ').nth(2).unwrap().parse().unwrap();
    assert_eq!(first.contains("all of these are in the file"), here == take);
    let of_page = format!("Of {}", first.split(':').next().unwrap());
    assert!(said.contains(&of_page), "{of_page}: {said}");
    let name = csv.header("content-disposition").unwrap();
    let part = format!("weak-points-{here}-of-{take}-pairs.csv");
    assert_eq!(name.contains(&part), here < take, "{name}");
    assert!(lines[0].ends_with(",all places of the pipe that leaks"));
    // A leak is named by its pipe, and the file has all the places where it may be.
    let leaks = |line: &&&str| line.starts_with("1,") && line.contains(" pipe leaks");
    let places = lines
        .iter()
        .filter(leaks)
        .map(|line| line.rsplit(',').next());
    let places: Vec<&str> = places.flatten().collect();
    assert!(
        places.iter().any(|places| places.contains("; ")),
        "{places:?}"
    );
    assert!(said.contains("main air pipe"), "{said}");
    assert!(
        lines.iter().any(|line| line.starts_with("2,")),
        "pairs are in it"
    );
    let xlsx = visitor
        .get("/decision/weak-points.xlsx?formation=TM101")
        .await;
    assert_eq!(xlsx.status(), 200);
}

async fn cocks_that_no_test_reveals_are_listed(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get("/trains/T1/revealed").await;
    let tables = page.count("table.detections");
    assert_eq!(tables, 2);
    // Between the units, each of which has a compressor of its own.
    assert!(
        page.texts("table.detections tbody tr")
            .iter()
            .any(|row| { row.contains("=MP-QM2") && row.contains("no test") })
    );
}

async fn what_cannot_be_read_or_is_not_there_is_a_clear_error(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let status = async |path: &str| -> (u16, Page) {
        let page = visitor.get(path).await;
        (page.status(), page)
    };
    assert_eq!(status("/trains/T1/nothing").await.0, 404);
    assert_eq!(status("/trains/T9/closing").await.0, 404);
    assert_eq!(status("/trains/T1/faults?saw=4101").await.0, 422);
    assert_eq!(
        status("/trains/T1/faults?saw=4101:bogie%209:service:braking")
            .await
            .0,
        422
    );
    assert_eq!(
        status("/trains/T1/path?car=4101&position=%3DA&mode=flying")
            .await
            .0,
        422
    );
    let (code, page) = status("/trains/T1/closing?car=4101&position=%3DNO-QM9").await;
    assert_eq!(code, StatusCode::OK);
    assert!(
        page.text(".no_verdict li")
            .starts_with("position =NO-QM9 in the circuit")
    );
}

async fn programs_get_the_same_answers(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let get = async |path: &str| visitor.get(path).await.json();
    let closing = get(&format!("/api/v1/closing?train=T1&{VALVE}")).await;
    assert_eq!(closing["sets"][0]["cocks"][0]["position"], "=BS1-QM1");
    assert_eq!(closing["sets"][0]["cocks"][0]["state"], "closed_vented");
    let weak = get("/api/v1/weak-points?formation=TM101").await;
    assert!(weak["pairs_evaluated"].as_u64().unwrap() > 1000);
    let path = get("/api/v1/path?train=T1&car=4101&position=%3DBS1-MB1").await;
    assert_eq!(path["reached"], "from_source");
    let faults = get("/api/v1/faults?train=T1&saw=4101:bogie%201:service:not_braking").await;
    assert!(
        faults["tried"].as_u64().unwrap() > faults["suspects"].as_array().unwrap().len() as u64
    );
    let revealed = get("/api/v1/revealed?train=T1").await;
    assert!(!revealed["cocks"].as_array().unwrap().is_empty());
    let document = get("/api/v1/openapi.json").await;
    for name in ["closing", "weak-points", "path", "faults", "revealed"] {
        let path = format!("/api/v1/{name}");
        assert!(
            document["paths"][&path]["get"]["summary"].is_string(),
            "{path}"
        );
    }
    assert_eq!(visitor.get("/api/v1/faults?train=T1").await.status(), 422);
}

async fn a_further_question_costs_a_handful_of_statements(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for path in [
        format!("/trains/T1/closing?{VALVE}"),
        "/trains/T1/faults?saw=4101:bogie%201:service:not_braking".to_owned(),
        "/trains/T1/revealed".to_owned(),
        "/trains/T1/path?car=4101&position=%3DBS1-MB1".to_owned(),
        "/trains/T1/weak-points".to_owned(),
    ] {
        visitor.get(&path).await;
        served.statements.take();
        visitor.get(&path).await;
        let sent = served.statements.take();
        // What is fitted is asked for besides, to say what can be swapped.
        let most = if path.contains("/faults") { 7 } else { 6 };
        assert!(sent.len() <= most, "{path}: {sent:#?}");
    }
}

each_database!(
    what_to_close_lists_the_cylinder_cock_first_with_verdicts_and_drains,
    what_is_supposed_is_supposed_on_every_page_and_never_looks_like_the_train,
    the_path_leads_from_the_compressor_through_the_cars_to_the_caliper,
    fault_finding_takes_what_was_seen_and_proposes_where_to_look_next,
    weak_points_are_shown_and_written_as_files,
    cocks_that_no_test_reveals_are_listed,
    what_cannot_be_read_or_is_not_there_is_a_clear_error,
    programs_get_the_same_answers,
    what_lives_on_stored_air_is_cut_off_by_a_cock_or_drained,
    a_relay_valve_is_proved_dead_at_its_supply_and_not_only_behind_itself,
    a_further_question_costs_a_handful_of_statements,
);
