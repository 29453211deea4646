//! Car types as a brake engineer reads them, and a new circuit looked at, proposed and approved.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::approvals::second;
use super::sample::Served;

const LIST: &str = "/car-types";
/// A trailer, in whose bogies one cock each takes all calipers.
const TRAILER: &str = "/car-types/TM-T/1";

async fn engineer(url: &str) -> (Served, Visitor) {
    let served = Served::with_trains(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    (served, engineer)
}

async fn car_types_are_listed_and_one_is_shown_with_what_each_position_takes(url: &str) {
    let (served, engineer) = engineer(url).await;
    let list = engineer.get(LIST).await;
    assert!(list.texts("tbody th").contains(&"TM-T".to_owned()));
    served.statements.take();
    let page = engineer.get(TRAILER).await;
    assert!(served.statements.take().len() < 10);
    let text = page.text("pre.circuit-text");
    assert!(
        text.contains(" is air_applied") && text.contains(" <-> "),
        "{text}"
    );
    let takes = page.text("[aria-label=\"What each position takes\"]");
    assert!(
        takes.contains("service, emergency: 4 brakes on axles 1, 2 of 4102"),
        "{takes}"
    );
    for (path, status) in [
        ("/car-types/Nowhere/1", 404),
        ("/car-types/%20/1", 422),
        (&*format!("{TRAILER}?against=ZZ"), 404),
        (&*format!("{TRAILER}?formation=nothing-of-that-name"), 404),
        ("/approvals/1/circuit", 404),
        ("/approvals/one/circuit", 422),
    ] {
        assert_eq!(engineer.get(path).await.status(), status, "{path}");
    }
}

/// The circuit of the form with one line of it replaced.
pub(super) fn with_line(page: &Page, from: &str, to: &str) -> (tests::form::Form, String) {
    let form = page.form("#circuit form");
    let text = form.values("circuit")[0].to_owned();
    assert!(text.contains(from), "{from} in {text}");
    (form, text.replacen(from, to, 1))
}

async fn a_new_circuit_is_looked_at_proposed_and_defined_once_another_approved(url: &str) {
    let (served, engineer) = engineer(url).await;
    let page = engineer.get(&format!("{TRAILER}/circuit")).await;
    // A caliper that the cylinder cock of its bogie no longer takes.
    let (form, changed) = with_line(
        &page,
        "=BS1-WH2 -> =BS1-MB3 carries cylinder_pressure",
        "=BS1-QN3 -> =BS1-MB3 carries cylinder_pressure",
    );
    let form = form.fill("revision", "2").fill("circuit", &changed);
    let looked = engineer.submit(&form).await;
    assert_eq!(looked.status(), 200);
    assert!(looked.text("main").contains("Nothing was recorded"));
    // Nothing is wrong, and nothing says so.
    assert_eq!(looked.count("[role=alert], .refusal"), 0);
    assert!(looked.text("li.gone").contains("=BS1-WH2 -> =BS1-MB3"));
    assert!(looked.text("li.new").contains("=BS1-QN3 -> =BS1-MB3"));
    let changed = looked.text("[aria-label=\"What changes\"]");
    assert!(
        changed.contains("4 brakes on axles 1, 2 of 4102"),
        "{changed}"
    );
    assert!(
        changed.contains("3 brakes on axles 1, 2 of 4102"),
        "{changed}"
    );
    assert_eq!(engineer.get("/approvals").await.count("section.panel"), 0);

    let form = looked.form("#circuit form").fill("what", "propose");
    let waiting = engineer.submit(&form).await;
    assert_eq!((waiting.path(), waiting.status()), ("/approvals", 200));
    let other = second(&served).await;
    let waiting = other.get("/approvals").await;
    let circuit = waiting.attribute("section.panel a[href$=\"/circuit\"]", "href");
    let shown = other.get(circuit.unwrap()).await;
    assert!(shown.text("main").contains("Different from revision 1"));
    assert!(shown.count("[aria-label=\"What changes\"] tbody tr") > 0);
    let approve = waiting.form("form:has(input[value=approved])");
    assert_eq!(other.submit(&approve).await.status(), 200);
    let compared = other.get("/car-types/TM-T/2?against=1").await;
    assert!(compared.count("[aria-label=\"What changes\"] tbody tr") > 0);
    let same = other.get(&format!("{TRAILER}?against=1")).await;
    assert!(same.text("main").contains("both circuits say the same"));
}

/// With the demand passing one way only, cocks take fewer brakes: that is no improvement.
async fn brakes_that_the_sound_train_loses_are_told_before_what_cocks_take(url: &str) {
    let (_served, engineer) = engineer(url).await;
    let page = engineer.get("/car-types/PC-C/1/circuit").await;
    let pipe = "=BP-QM2 <-> =BP-HQ1 carries brake_pipe_demand";
    let (form, changed) = with_line(&page, pipe, &pipe.replace("<->", "->"));
    let form = form.fill("revision", "2").fill("circuit", &changed);
    let looked = engineer.submit(&form).await;
    assert_eq!(looked.status(), 200);
    let said = looked.text("main");
    for expected in [
        "Brakes of the sound train that worked with revision 1 do not work",
        "brake_pipe: carries brake pipe demand from end2 to end1 and not back",
    ] {
        assert!(said.contains(expected), "{expected}: {said}");
    }
    let sound = looked.text("[aria-label=\"What works with everything open\"]");
    for axles in ["on 24 of 24 axles", "on 16 of 24 axles"] {
        assert!(sound.contains(axles), "{axles}: {sound}");
    }
}

async fn what_is_wrong_in_a_circuit_is_told_by_line_and_nothing_is_proposed(url: &str) {
    let (_served, engineer) = engineer(url).await;
    let page = engineer.get(&format!("{TRAILER}/circuit")).await;
    let form = page.form("#circuit form").fill("revision", "2");
    for (text, expected) in [
        ("=Q1 is tap", "line 1: “=Q1 is tap”"),
        ("# nothing\n=NO-NE1 is pass", "line 2: node =NO-NE1"),
        (
            "=BS1-WH1 is pass\n\n=NO-NE1 -> =BS1-WH1 carries main_air",
            "line 3: =NO-NE1 to =BS1-WH1: the car type has no position =NO-NE1",
        ),
        ("", "expected a circuit, line by line"),
    ] {
        let form = form.clone().fill("circuit", text).fill("what", "propose");
        let wrong = engineer.submit(&form).await;
        assert_eq!(wrong.status(), 422, "{text}");
        let told = wrong.text("#circuit-circuit-wrong");
        assert!(told.contains(expected), "{text}: {told}");
    }
    // The same circuit is no new one.
    let same = form.clone().fill("what", "propose");
    let refused = engineer.submit(&same).await;
    assert_eq!(refused.status(), 422);
    let told = refused.text("#circuit-circuit-wrong");
    assert!(
        told.contains("it says what that of revision 1 says"),
        "{told}"
    );
    let known = form.fill("revision", "1").fill("what", "propose");
    let refused = engineer.submit(&known).await;
    assert_eq!(refused.status(), 422);
    assert!(refused.text("main").contains("Nothing was changed"));
    assert_eq!(engineer.get("/approvals").await.count("section.panel"), 0);
}

async fn what_is_to_be_done_with_a_circuit_is_one_of_two_things(url: &str) {
    let (_served, engineer) = engineer(url).await;
    let page = engineer.get(&format!("{TRAILER}/circuit")).await;
    let (form, changed) = with_line(
        &page,
        "=BS1-WH2 -> =BS1-MB3 carries cylinder_pressure",
        "=BS1-QN3 -> =BS1-MB3 carries cylinder_pressure",
    );
    let form = form.fill("revision", "2").fill("circuit", &changed);
    for what in ["", "Look", "proposed"] {
        let refused = engineer.submit(&form.clone().forge("what", what)).await;
        assert_eq!(refused.status(), 422, "{what}");
    }
    assert_eq!(engineer.get("/approvals").await.count("section.panel"), 0);
}

async fn only_brake_engineers_are_offered_to_write_a_circuit(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.signed_in(Role::Technician).await;
    let page = visitor.get(TRAILER).await;
    assert_eq!(page.count(&format!("a[href=\"{TRAILER}/circuit\"]")), 0);
    let page = visitor.get(&format!("{TRAILER}/circuit")).await;
    assert_eq!(page.count("form.fields"), 0);
}

async fn programs_get_the_circuit_as_text_with_what_is_doubtful(url: &str) {
    let (_served, engineer) = engineer(url).await;
    let list = engineer.get("/api/v1/car-types").await.json();
    let names: Vec<&str> = list
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["car_type"].as_str().unwrap())
        .collect();
    assert!(names.is_sorted() && names.contains(&"TM-T"), "{names:?}");
    let circuit = engineer
        .get("/api/v1/car-types/TM-T/1/circuit")
        .await
        .json();
    let text = circuit["circuit"].as_str().unwrap();
    assert!(domain::circuit::text::CircuitText::read(text).is_ok());
    assert_eq!(circuit["remarks"].as_array().unwrap().len(), 2);
    let nowhere = engineer.get("/api/v1/car-types/TM-T/9/circuit").await;
    assert_eq!(nowhere.status(), 404);
}

each_database!(
    a_new_circuit_is_looked_at_proposed_and_defined_once_another_approved,
    car_types_are_listed_and_one_is_shown_with_what_each_position_takes,
    what_is_to_be_done_with_a_circuit_is_one_of_two_things,
    brakes_that_the_sound_train_loses_are_told_before_what_cocks_take,
    only_brake_engineers_are_offered_to_write_a_circuit,
    programs_get_the_circuit_as_text_with_what_is_doubtful,
    what_is_wrong_in_a_circuit_is_told_by_line_and_nothing_is_proposed,
);
