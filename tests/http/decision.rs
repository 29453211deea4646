//! May this train run? Read over HTTP from the real invented designs, and compared with what the
//! core answers to the same question.

use domain::circuit::Mode;
use domain::decision::asked::Words;
use domain::decision::supposed::supposed;
use domain::decision::{Decision, decide};
use domain::identity::TrainId;
use domain::isolation::Supply;
use domain::people::Role;
use domain::rule_set::RuleSet;
use domain::time::Zone;
use tests::each_database;
use tests::page::Page;

use super::sample::{Served, now};

/// The bogie cylinder cock of the leading car, supposed closed.
pub(super) const COCK: &str = "4101:=BS1-QM1:closed_vented";
const WHAT_IF: &str = "/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented";

/// What the core answers about train T1 with some positions supposed to be otherwise.
async fn in_the_core(served: &Served, closed: &[&str]) -> Decision {
    let mut view = served.store.view().await.unwrap();
    let id: TrainId = "T1".parse().unwrap();
    let train = view.train(&id).await.unwrap().unwrap();
    let cars = view
        .formation(&train.formation.vehicles, Some(Zone::UTC.day_of(now())))
        .await
        .unwrap()
        .unwrap();
    let documents = &view.documents;
    let today = Zone::UTC.day_of(now());
    let cars: Vec<_> = cars
        .iter()
        .map(|car| car.for_decision(documents, today).unwrap())
        .collect();
    let sets: Vec<&RuleSet> = documents
        .rule_sets
        .values()
        .map(|set| &*set.document)
        .collect();
    let mut words = Words::default();
    words.assume(&cars, &sets);
    let asked = words.read().unwrap();
    let question = asked
        .question(cars, supposed(closed.iter().copied()).unwrap())
        .unwrap();
    decide(&question, &sets).unwrap()
}

/// Before, after and difference of the brake percentage now.
fn percentages(page: &Page) -> Vec<String> {
    page.texts("#percentage tr:first-child td")
}

async fn a_sound_train_may_run_by_every_rule_set_in_force(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served
        .visitor()
        .get("/trains/T1?signalling_distance=1200&speed=140")
        .await;
    assert!(
        page.text(".stands")
            .starts_with("As it stands: no cut-out is in force on it.")
    );
    assert_eq!(page.count(".verdict"), 2);
    let by = page.texts(".verdict .rule-set");
    assert!(
        by.iter()
            .any(|set| set == "Example after 49 CFR 238.15, revision A"),
        "{by:?}"
    );
    let core = in_the_core(&served, &[]).await;
    let percentage = core.percentage.unwrap().value;
    let (before, after) = (percentage.before.to_string(), percentage.after.to_string());
    assert_eq!(percentages(&page), [before, after, "none".to_owned()]);
    assert_eq!(
        page.count("#checks"),
        0,
        "nothing is cut out, so there is nothing to check"
    );
}

async fn a_cock_supposed_closed_takes_away_what_the_core_computes(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let core = in_the_core(&served, &[COCK]).await;
    let percentage = core.percentage.as_ref().unwrap().value;
    assert!(
        percentage.after < percentage.before,
        "the cock takes something away"
    );
    let page = visitor.get(WHAT_IF).await;
    let shown = percentages(&page);
    assert_eq!(
        shown[..2],
        [percentage.before.to_string(), percentage.after.to_string()]
    );
    let now = |mode| {
        let is = |one: &&domain::decision::CommandedEffect| {
            one.effect.mode == mode && one.effect.supply == Supply::Now
        };
        core.effects.iter().find(is).unwrap().effect.counts.axles
    };
    let emergency = now(Mode::Emergency);
    let expected = format!("{} of {}", emergency.operative, emergency.total);
    assert_eq!(
        page.texts(".counts tbody tr:nth-child(2) td:nth-child(4)"),
        [expected]
    );
    let why = page.texts(".losses tbody tr td:last-child");
    assert!(
        why.iter()
            .all(|why| why.contains("Car 4101 =BS1-QM1: closed vented")),
        "{why:?}"
    );
    // Every axle is drawn, in the order of the formation: the first bogie of the first car lost.
    assert_eq!(page.count("svg.train circle.wheel.wheel-lost"), 2);
    assert_eq!(page.count("svg.train circle.wheel.wheel-operative"), 22);
    assert!(
        page.text("#checks + ol")
            .contains("car 4101, left side seen from end 1, =BS1-QM1")
    );
}

async fn the_strictest_verdict_comes_first_with_the_rule_that_decides(url: &str) {
    let served = Served::with_trains(url).await;
    let path = "/trains/T2?close=5104%3A%3DBP-QM2%3Aclosed_trapped";
    let page = served.visitor().get(path).await;
    let headlines = page.texts(".verdict h2");
    assert_eq!(headlines, ["✕ May not run", "◆ May run with restrictions"]);
    let decided = page.texts(".verdict .decided-by");
    assert!(
        decided[0].contains("Last vehicle braked: last vehicle: 5106 not braked"),
        "{decided:?}"
    );
    assert!(decided[0].contains("Regulation (EU) 2019/773, annex, 4.2.2.6"));
    // The valve behind the closed cock still brakes what is behind it.
    let elsewhere = page.text(".panel h3");
    assert_eq!(
        elsewhere,
        "Commanded from elsewhere: emergency from car 5106"
    );
}

async fn a_what_if_is_never_shown_as_a_decision(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get(WHAT_IF).await;
    let banner = page.text(".what-if-banner");
    assert!(
        banner.contains("It is no decision and cannot be issued as one"),
        "{banner}"
    );
    assert!(banner.contains("=BS1-QM1, label B1, "), "{banner}");
    assert_eq!(
        page.count(".verdict"),
        page.count(".verdict.supposed .what-if-tag")
    );
    assert_eq!(page.count(".stands"), 0);
    assert!(
        page.texts(".sheet-foot")
            .iter()
            .all(|foot| foot.contains("cannot be issued"))
    );
    assert!(!page.body().contains("Decision taken by"));
    assert!(page.text("head title").contains("what if"));
    let stands = visitor.get("/trains/T1").await;
    assert!(stands.text(".sheet-foot").starts_with("Decision taken by"));
    assert_eq!(stands.count(".what-if-banner"), 0);
    // Supposing a cock open that is open is a what-if as well.
    let open = visitor.get("/trains/T1?close=4101:%3DBS1-QM1:open").await;
    assert_eq!(open.count(".what-if-banner"), 1);
}

async fn a_brake_that_only_lasts_as_long_as_stored_air_says_so_above_the_verdicts(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let dead = "/decision?formation=TM101&close=4102:%3DAP-GQ1:failed";
    let page = visitor.get(dead).await;
    let fades = page.text(".warnings .fades");
    assert!(
        fades.contains("is 153.53 % now and falls to 0.00 % once stored air is used up"),
        "{fades}"
    );
    let sound = visitor.get("/decision?formation=TM101").await;
    assert_eq!(sound.count(".fades"), 0);
}

/// The rows of stopping distances: what they are called, and how far as it is.
fn stopping(page: &Page) -> Vec<(String, String)> {
    let names = page.texts("#stopping th");
    let after = page.texts("#stopping td strong");
    names.into_iter().zip(after).collect()
}

/// A car whose reservoir is cut off stops the train, once stored air is used up, as if the
/// cylinders of both of its bogies were vented now.
async fn how_the_train_stops_once_stored_air_is_used_up_stands_beside_how_it_stops_now(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let asked = "/decision?formation=TM101,TM102&speed=100&gradient=0";
    let cut = format!("{asked}&close=4101:%3DBS-QM1:supply_cut");
    let vented =
        format!("{asked}&close=4101:%3DBS1-QM1:closed_vented&close=4101:%3DBS2-QM1:closed_vented");
    let (fades, lost) = (visitor.get(&cut).await, visitor.get(&vented).await);
    let fades = stopping(&fades);
    let (later, now): (Vec<_>, Vec<_>) = fades
        .into_iter()
        .partition(|(name, _)| name.ends_with(", once stored air is used up"));
    let lost = stopping(&lost);
    assert_eq!(later.len(), lost.len(), "{later:?}");
    for ((later, now), lost) in later.iter().zip(&now).zip(&lost) {
        assert_eq!(later.0, format!("{}, once stored air is used up", lost.0));
        assert_eq!(later.1, lost.1);
        assert_ne!(now.1, lost.1);
    }
    let program = cut.replacen("/decision", "/api/v1/decision", 1);
    let program = visitor.get(&program).await.json();
    let told = &program["stopping_distances_later"];
    assert_eq!(told.as_array().map(Vec::len), Some(lost.len()), "{told}");
}

async fn one_link_leads_from_a_car_or_unit_to_the_train_that_it_is_in(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for page in ["/cars/4105", "/units/TM102"] {
        let page = visitor.get(page).await;
        let link = page.attribute("a[href^='/may-it-run']", "href").unwrap();
        assert_eq!(visitor.get(link).await.path(), "/trains/T1");
    }
    for (path, status) in [("/may-it-run?car=9", 404), ("/may-it-run", 422)] {
        assert_eq!(visitor.get(path).await.status(), status, "{path}");
    }
}

async fn an_ad_hoc_formation_is_answered_as_the_train_of_it(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let train = visitor.get("/trains/T1").await;
    let form = visitor
        .get("/trains")
        .await
        .form("form[action='/decision']");
    let formation = visitor
        .submit(&form.fill("formation", "TM101, TM102 reversed"))
        .await;
    assert_eq!(formation.text("h1"), "Formation TM101,TM102r");
    for selector in [
        ".verdict h2",
        ".verdict dd",
        "#percentage td",
        "svg.train .car-number",
    ] {
        assert_eq!(
            formation.texts(selector),
            train.texts(selector),
            "{selector}"
        );
    }
    let cars = formation.texts("svg.train .car-number");
    assert_eq!(cars, ["4101", "4102", "4103", "4106", "4105", "4104"]);
    let forward = visitor.get("/decision?formation=TM101,TM102").await;
    assert_eq!(forward.texts("svg.train .car-number")[3], "4104");
}

async fn a_train_whose_cars_run_elsewhere_now_says_so(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let form = controller.get("/trains").await.form("#form form");
    let form = form
        .fill("train", "T3")
        .fill("formation", "TM102, 4103 reversed");
    let formed = controller.submit(&form).await;
    assert_eq!(
        (formed.status(), formed.text("h1").as_str()),
        (200, "Train T3")
    );
    let page = controller.get("/trains/T1").await;
    assert!(
        page.text(".caution")
            .contains("Cars of it are in a train formed later: T3")
    );
    assert_eq!(controller.get("/trains/T3").await.count(".caution"), 0);
}

async fn cars_without_a_circuit_give_no_verdict_and_say_what_is_missing(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/decision?formation=41").await;
    assert_eq!(page.status(), 200);
    assert_eq!(page.count(".verdict.no_verdict"), 1);
    assert!(page.text(".verdict").contains("missing"));
}

async fn a_decision_costs_a_handful_of_statements(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    for path in [
        "/trains/T1",
        WHAT_IF,
        "/decision?formation=PC201,TM101r",
        "/trains",
    ] {
        controller.get(path).await;
        served.statements.take();
        assert_eq!(controller.get(path).await.status(), 200);
        let sent = served.statements.take();
        assert!(
            sent.len() <= 9,
            "{path}: {} statements: {sent:#?}",
            sent.len()
        );
    }
}

async fn programs_get_the_same_answer_as_people(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let core = in_the_core(&served, &[COCK]).await;
    let close = "close=4101%3A%3DBS1-QM1%3Aclosed_vented";
    let answer = visitor
        .get(&format!("/api/v1/decision?train=T1&{close}"))
        .await
        .json();
    assert_eq!(answer["standing"], "what_if");
    let after = core.percentage.unwrap().value.after.percent();
    assert_eq!(answer["brake_percentage"]["after"], after);
    assert_eq!(answer["verdicts"].as_array().unwrap().len(), 2);
    assert_eq!(answer["asked"][0]["assumed"], true);
    let stands = visitor
        .get("/api/v1/decision?formation=TM101,TM102r")
        .await
        .json();
    assert_eq!(stands["standing"], "as_it_stands");
    assert_eq!(stands["cars"][3]["number"], "4106");
    for (path, status, field) in [
        ("/api/v1/decision", 422, "train"),
        ("/api/v1/decision?train=T1&speed=fast", 422, "speed"),
        ("/api/v1/decision?train=T1&close=4101", 422, "close"),
        ("/api/v1/decision?formation=,", 422, "formation"),
    ] {
        let problem = visitor.get(path).await;
        assert_eq!(problem.status(), status, "{path}");
        assert_eq!(problem.json()["field"], field, "{path}");
    }
    assert_eq!(visitor.get("/api/v1/decision?train=T9").await.status(), 404);
}

async fn what_was_supposed_and_then_done_is_recorded_without_choosing_it_again(url: &str) {
    let served = Served::with_trains(url).await;
    let closed = "/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented";
    let link = ".what-if-banner a[href^='/isolations/new']";
    assert_eq!(served.visitor().get(closed).await.count(link), 0);
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get(closed).await;
    let form = controller
        .get(page.attribute(link, "href").unwrap())
        .await
        .form("#new form");
    for (name, value) in [("position", "=BS1-QM1"), ("state", "closed_vented")] {
        let chosen = (name.to_owned(), value.to_owned());
        assert!(form.fields().contains(&chosen), "{chosen:?}");
    }
    let done = form.fill("cause", "brake of bogie 1 does not release");
    let board = controller.submit(&done).await;
    assert_eq!(board.path(), "/isolations", "{}", board.text("main"));
    // What is supposed open was not done by anybody.
    let open = "/trains/T1?close=4101%3A%3DBS1-QM1%3Aopen";
    assert_eq!(controller.get(open).await.count(link), 0);
}

each_database!(
    one_link_leads_from_a_car_or_unit_to_the_train_that_it_is_in,
    a_sound_train_may_run_by_every_rule_set_in_force,
    a_cock_supposed_closed_takes_away_what_the_core_computes,
    the_strictest_verdict_comes_first_with_the_rule_that_decides,
    a_what_if_is_never_shown_as_a_decision,
    a_brake_that_only_lasts_as_long_as_stored_air_says_so_above_the_verdicts,
    how_the_train_stops_once_stored_air_is_used_up_stands_beside_how_it_stops_now,
    an_ad_hoc_formation_is_answered_as_the_train_of_it,
    a_train_whose_cars_run_elsewhere_now_says_so,
    cars_without_a_circuit_give_no_verdict_and_say_what_is_missing,
    a_decision_costs_a_handful_of_statements,
    programs_get_the_same_answer_as_people,
    what_was_supposed_and_then_done_is_recorded_without_choosing_it_again,
);
