//! Rule sets as people read them, compare them, and agree on a new revision.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::approvals::second;
use super::sample::Served;

const LIST: &str = "/rule-sets";

async fn a_new_revision_is_proposed_compared_and_in_force_once_another_approved(url: &str) {
    let served = Served::with_trains(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let list = engineer.get(LIST).await;
    let first = list
        .attribute("tbody tr:first-child th a", "href")
        .unwrap()
        .to_owned();
    assert_eq!(
        list.count("tbody td strong"),
        list.count("tbody tr"),
        "all in force"
    );
    let page = engineer.get(&first).await;
    let titles = page.texts("ol.rules > li > strong");
    assert!(titles.len() > 3, "{titles:?}");
    assert!(
        page.texts("ol.rules > li")
            .iter()
            .all(|rule| rule.contains("source: ") || rule.contains("common practice"))
    );

    let form = engineer
        .get(&format!("{first}/revise"))
        .await
        .form("#revise form");
    let rules = form.values("body")[0].replace(&titles[0], "Another title");
    let form = form
        .fill("revision", "Z")
        .fill("valid_from", "2026-11-25")
        .fill("body", &rules);
    let waiting = engineer.submit(&form).await;
    assert_eq!((waiting.path(), waiting.status()), ("/approvals", 200));
    assert_eq!(
        engineer.get(LIST).await.count("tbody tr"),
        list.count("tbody tr")
    );

    let (base, old) = first.rsplit_once('/').unwrap();
    let titles = (titles[0].as_str(), "Another title");
    whoever_approves_sees_the_rules_beside_those_before(&engineer, &waiting, (old, titles)).await;

    let other = second(&served).await;
    let approve = other
        .get("/approvals")
        .await
        .form("form:has(input[value=approved])");
    assert_eq!(other.submit(&approve).await.status(), 200);
    let list = other.get(LIST).await.text("tbody");
    assert!(list.contains("replaced by revision Z"), "{list}");
    let page = other.get(&format!("{base}/Z?against={old}")).await;
    assert!(page.text("main").contains("in force, issued by"));
    names_both(&page.texts("table.long tbody th"), titles);
    let same = other.get(&format!("{base}/{old}?against={old}")).await;
    assert!(same.text("main").contains("Nothing: both say the same"));
}

/// In words, on the card and at length.
async fn whoever_approves_sees_the_rules_beside_those_before(
    engineer: &Visitor,
    waiting: &Page,
    (old, titles): (&str, (&str, &str)),
) {
    let card = waiting.text("section.panel");
    assert!(card.contains(&format!("Different from revision {old}")));
    assert!(!card.contains('{'), "no rule as in a file: {card}");
    names_both(&waiting.texts("section.panel table.long tbody th"), titles);
    let looked_at = waiting.attribute("a[href$='/rule-set']", "href").unwrap();
    let looked_at = engineer.get(looked_at).await;
    assert!(looked_at.text(".caution").contains("not in force"));
    names_both(&looked_at.texts("table.long tbody th"), titles);
}

fn names_both(rows: &[String], (before, after): (&str, &str)) {
    for title in [before, after] {
        assert!(rows.iter().any(|row| row == title), "{title}: {rows:?}");
    }
}

async fn a_new_rule_set_is_proposed_on_a_page(url: &str) {
    let served = Served::with_trains(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let list = engineer.get(LIST).await;
    let new = list.attribute("a[href='/rule-sets/new']", "href").unwrap();
    let new = engineer.get(new).await;
    let kinds = new.attribute("a[href='/rule-sets/kinds']", "href").unwrap();
    let kinds = engineer.get(kinds).await;
    assert!(kinds.text("main").contains("slide_protection"));
    let fields = kinds.texts("table tbody td:first-child");
    for field in ["scope.kinds", "rules.only_if.on_routes", "usual.load"] {
        assert!(fields.iter().any(|one| one == field), "{field}: {fields:?}");
    }
    let form = new.form("#new form");
    let form = form
        .fill("name", "Branch line")
        .fill("revision", "A")
        .fill("issuer", "the railway")
        .fill("note", "An example; authorised people decide.")
        .fill("valid_from", "2026-11-25");
    let nameless = engineer.submit(&form.clone().fill("name", "")).await;
    assert_eq!(nameless.status(), 422);
    let waiting = engineer.submit(&form).await;
    assert_eq!((waiting.path(), waiting.status()), ("/approvals", 200));
    let looked_at = waiting.attribute("a[href$='/rule-set']", "href").unwrap();
    let looked_at = engineer.get(looked_at).await;
    assert!(
        looked_at
            .text("main")
            .contains("No revision of it was issued before")
    );
    let other = second(&served).await;
    let approve = other
        .get("/approvals")
        .await
        .form("form:has(input[value=approved])");
    assert_eq!(other.submit(&approve).await.status(), 200);
    let listed = other.get(LIST).await.text("tbody");
    assert!(listed.contains("Branch line"), "{listed}");
    // What a rule set is proposed as is no page of a rule set of the register.
    for (path, status) in [
        ("/approvals/1/rule-set", 404),
        ("/approvals/x/rule-set", 422),
    ] {
        assert_eq!(other.get(path).await.status(), status, "{path}");
    }
    let planner = served.signed_in(Role::Planner).await;
    assert_eq!(planner.get("/rule-sets/new").await.count("form.fields"), 0);
}

async fn what_cannot_be_read_is_told_with_its_place_and_nothing_is_proposed(url: &str) {
    let served = Served::with_trains(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let list = engineer.get(LIST).await;
    let first = list.attribute("tbody tr:first-child th a", "href").unwrap();
    let page = engineer.get(&format!("{first}/revise")).await;
    let form = page.form("#revise form").fill("revision", "Z");
    let form = form.fill("body", "{\"rules\": [\n7]}");
    let broken = engineer.submit(&form).await;
    assert_eq!(broken.status(), 422);
    let wrong = broken.text("#revise-body-wrong");
    assert!(wrong.contains("rules#1: 7 stands there"), "{wrong}");
    let no_json = form.clone().fill("body", "{\"rules\":\n x}");
    let wrong = engineer.submit(&no_json).await.text("#revise-body-wrong");
    assert!(wrong.contains("line 2, near character 2"), "{wrong}");
    let cut_off = engineer
        .submit(&form.clone().fill("body", "{\"rules\": ["))
        .await;
    let told = cut_off.text("#revise-body-wrong");
    assert!(told.contains("it ends before it is complete"), "{told}");
    let wrong = broken.text("#revise-valid_from-wrong");
    assert!(wrong.starts_with("expected"), "{wrong}");
    let waiting = engineer.get("/approvals").await;
    assert_eq!(waiting.count("section.panel"), 0);
}

async fn only_brake_engineers_are_offered_to_revise_and_what_is_not_there_is_not_found(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.signed_in(Role::Controller).await;
    let first = visitor.get(LIST).await;
    let first = first
        .attribute("tbody tr:first-child th a", "href")
        .unwrap()
        .to_owned();
    let page = visitor.get(&first).await;
    assert_eq!(page.count(&format!("a[href=\"{first}/revise\"]")), 0);
    assert_eq!(
        visitor
            .get(&format!("{first}/revise"))
            .await
            .count("form.fields"),
        0
    );
    for (path, status) in [
        ("/rule-sets/Nowhere/A", 404),
        ("/rule-sets/%20/A", 422),
        (&*format!("{first}?against=ZZ"), 404),
        (&*format!("{first}?against=%20"), 422),
    ] {
        assert_eq!(visitor.get(path).await.status(), status, "{path}");
    }
    served.statements.take();
    visitor.get(&first).await;
    assert!(served.statements.take().len() <= 3);
}

async fn a_program_reads_the_rule_sets_in_words_and_as_issued(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let list = visitor.get("/api/v1/rule-sets").await.json();
    let list = list.as_array().unwrap();
    assert_eq!(list.len(), visitor.get(LIST).await.count("tbody tr"));
    for one in list {
        assert_eq!(one["standing"], "in force");
        let name = |field: &str| one[field].as_str().unwrap().replace(' ', "%20");
        let (name, revision) = (name("rule_set"), name("revision"));
        let path = format!("/rule-sets/{name}/{revision}");
        let told = visitor.get(&format!("/api/v1{path}")).await.json();
        assert_eq!(&told["issued"], one);
        let titles: Vec<&str> = told["rules"]
            .as_array()
            .unwrap()
            .iter()
            .map(|rule| rule["what"].as_str().unwrap())
            .collect();
        let page = visitor.get(&path).await;
        assert_eq!(titles, page.texts("ol.rules > li > strong"));
        assert_eq!(
            told["document"]["rules"].as_array().unwrap().len(),
            titles.len()
        );
    }
}

each_database!(
    a_program_reads_the_rule_sets_in_words_and_as_issued,
    a_new_rule_set_is_proposed_on_a_page,
    a_new_revision_is_proposed_compared_and_in_force_once_another_approved,
    only_brake_engineers_are_offered_to_revise_and_what_is_not_there_is_not_found,
    what_cannot_be_read_is_told_with_its_place_and_nothing_is_proposed,
);
