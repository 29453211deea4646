//! A decision about a train as it stands, as somebody would record it.

use domain::decision::answer::answer;
use domain::decision::asked::{AskedField, Words};
use domain::decision::taken::DecisionTaken;
use domain::identity::TrainId;
use domain::rule_set::in_force::in_force;
use domain::time::{Instant, Zone};
use store::Store;

/// The decision about a train by the first rule set in force, with these fields of the question;
/// the others are assumed.
pub async fn decision(
    store: &Store,
    train: &str,
    now: Instant,
    asked: &[(AskedField, &str)],
) -> DecisionTaken {
    let id: TrainId = train.parse().expect("a train");
    let mut view = store.view().await.expect("the register answers");
    let train = view.train(&id).await.expect("the register answers");
    let train = train.expect("a known train");
    let today = Zone::UTC.day_of(now);
    let cars = view.formation(&train.formation.vehicles, Some(today)).await;
    let cars = cars.expect("the register answers").expect("known cars");
    let documents = &view.documents;
    let cars = cars
        .iter()
        .map(|car| car.for_decision(documents, today))
        .collect();
    let issued = documents.rule_sets.values();
    let issued = issued.map(|set| (set.by, &*set.document));
    let rule_sets = in_force(issued, today);
    let rules = rule_sets.first().expect("a rule set in force");
    let mut words = Words::default();
    for (field, text) in asked {
        words.put(*field, text);
    }
    let answered = answer(words, cars, Vec::new(), (&rule_sets, (now, today))).expect("a question");
    DecisionTaken {
        train: id,
        formed_by: train.by,
        rule_set: rules.name.clone(),
        revision: rules.revision.clone(),
        asked: answered.asked(),
        assumed: answered.assumed.clone(),
        found: answered.found(&rules.name).expect("a verdict"),
        decided_by: "C. Controller".parse().expect("a person"),
        told: Vec::new(),
    }
}
