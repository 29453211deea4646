//! Assemblies: what is inside a component goes with it, on cars and off them, to any depth.

use domain::configuration::component::{ComponentRef, Condition};
use domain::ledger::dossier::Fitment;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use domain::time::Instant;
use domain::units::{Amount, Meter};
use store::read::AsAt;
use tests::assemblies::{self, FRAME, INNER_PANEL, INNER_RELAY, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_at, inside, judged, moved, moved_to, position, read, relocated, removed,
    removed_as, swapped,
};
use tests::fleet::{Components, FIRST, OVERHAUL};
use tests::register::Register;

const FOUNDED: &str = "2029-01-01T00:00Z";

struct Fleet {
    register: Register,
    components: Components,
    panels: [ComponentRef; 2],
    frame: ComponentRef,
}

impl Fleet {
    async fn found(url: &str) -> Self {
        let mut register = Register::open(url).await;
        let components = assemblies::found(&mut register, FOUNDED).await;
        let [one, other, frame] = assemblies::components();
        Self {
            register,
            components,
            panels: [one, other],
            frame,
        }
    }

    async fn record(&mut self, day: &str, fact: Fact) -> domain::ledger::entry::Seq {
        self.register.record(&format!("{day}T00:00Z"), fact).await
    }

    async fn refuses(&mut self, day: &str, fact: Fact) -> Refusal {
        self.register.refuses(&format!("{day}T00:00Z"), fact).await
    }

    /// Where a component was on cars, from when to when.
    async fn stays(&self, component: &ComponentRef) -> Vec<String> {
        let stay = |fitment: &Fitment| {
            let day = |moment: Instant| moment.to_string()[..10].to_owned();
            let until = fitment
                .end
                .as_ref()
                .map_or("now".to_owned(), |end| day(end.at));
            format!("{}, {} to {until}", fitment.at, day(fitment.from))
        };
        let life = self.register.life(component).await;
        life.fitments.iter().map(stay).collect()
    }
}

async fn a_panel_takes_its_valves_with_it(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, panel) = (fleet.components.valves[0].clone(), fleet.panels[0].clone());
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    fleet.record("2029-02-01", put).await;
    assert_eq!(fleet.stays(&valve).await, [""; 0], "the panel is in store");
    let (first, second) = (position("4101", PANEL_PLACE), position("4102", PANEL_PLACE));
    let begun = fleet.record("2029-03-01", fitted(&panel, &first)).await;
    let on_first = "=BS-P1-K1 of car 4101, 2029-03-01 to now";
    assert_eq!(fleet.stays(&valve).await, [on_first]);
    fleet.record("2029-04-01", moved(&panel, &second)).await;
    fleet.record("2029-05-01", removed(&panel)).await;
    let expected = [
        "=BS-P1-K1 of car 4101, 2029-03-01 to 2029-04-01",
        "=BS-P1-K1 of car 4102, 2029-04-01 to 2029-05-01",
    ];
    assert_eq!(fleet.stays(&valve).await, expected);
    let life = fleet.register.life(&valve).await;
    assert_eq!(life.fitments[0].fitted_by, begun);
    let end = life.fitments[1].end.as_ref().unwrap();
    assert_eq!(end.reason, None, "the valve itself was not taken off");
    assert_eq!(end.to.as_ref().unwrap().as_str(), "Workshop");
    // The panel is to be judged; the valve stays what it was, and is where the panel is.
    assert_eq!(life.record.condition, Condition::Serviceable);
    assert_eq!(life.record.location(), None);
    let surroundings = &life.surroundings;
    assert_eq!(surroundings.outermost(), Some(&panel));
    assert_eq!(surroundings.location.as_ref().unwrap().as_str(), "Workshop");
    fleet.register.proves().await;
}

async fn a_valve_is_exchanged_while_its_panel_is_in_the_workshop(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let [old, new] = [0, 1].map(|n| fleet.components.valves[n].clone());
    let panel = fleet.panels[0].clone();
    let place = inside(&panel, INNER_VALVE);
    let on_car = position("4101", PANEL_PLACE);
    fleet.record("2029-02-01", fitted_at(&old, &place)).await;
    fleet.record("2029-02-02", fitted(&panel, &on_car)).await;
    fleet.record("2029-03-01", removed(&panel)).await;
    let taken = fleet.refuses("2029-03-02", fitted_at(&new, &place)).await;
    assert!(
        matches!(&taken, Refusal::PositionTaken { holds, .. } if *holds == old),
        "{taken}"
    );
    fleet.record("2029-03-02", removed(&old)).await;
    fleet.record("2029-03-03", fitted_at(&new, &place)).await;
    fleet
        .record("2029-03-04", judged(&panel, Condition::Serviceable))
        .await;
    fleet.record("2029-03-05", fitted(&panel, &on_car)).await;
    let [then, now] = [
        "=BS-P1-K1 of car 4101, 2029-02-02 to 2029-03-01",
        "=BS-P1-K1 of car 4101, 2029-03-05 to now",
    ];
    assert_eq!(fleet.stays(&old).await, [then]);
    assert_eq!(fleet.stays(&new).await, [now]);
    fleet.register.proves().await;
}

async fn places_inside_assemblies_go_to_any_depth(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, panel) = (fleet.components.valves[0].clone(), fleet.panels[0].clone());
    let frame = fleet.frame.clone();
    let on_car = position("4103", PANEL_PLACE);
    fleet.record("2029-02-01", fitted(&frame, &on_car)).await;
    let into_frame = fitted_at(&panel, &inside(&frame, INNER_PANEL));
    fleet.record("2029-03-01", into_frame).await;
    let into_panel = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    fleet.record("2029-04-01", into_panel).await;
    let place = "=BS-P1-P1-K1 of car 4103, 2029-04-01 to now";
    assert_eq!(fleet.stays(&valve).await, [place]);
    let above = fleet.register.life(&valve).await.surroundings.above;
    let above: Vec<String> = above.iter().map(|own| own.at.to_string()).collect();
    assert_eq!(above, ["-K1 of BP-20 serial 1", "-P1 of BF-30 serial 1"]);
    let mut view = fleet.register.store.view().await.unwrap();
    let id = fleet.register.life(&frame).await.record.id;
    let contents = view.contents(id).await.unwrap();
    let contents: Vec<_> = contents.iter().map(|one| &one.fitment.component).collect();
    assert_eq!(contents, [&panel, &valve]);
    fleet.register.proves().await;
}

async fn a_valve_put_in_late_was_in_all_the_cars_of_its_panel(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, panel) = (fleet.components.valves[0].clone(), fleet.panels[0].clone());
    let (first, second) = (position("4101", PANEL_PLACE), position("4102", PANEL_PLACE));
    fleet.record("2029-02-01", fitted(&panel, &first)).await;
    fleet.record("2029-04-01", moved(&panel, &second)).await;
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    let by = fleet.record("2029-03-01", put.clone()).await;
    let [one, two] = [
        "=BS-P1-K1 of car 4101, 2029-03-01 to 2029-04-01",
        "=BS-P1-K1 of car 4102, 2029-04-01 to now",
    ];
    assert_eq!(fleet.stays(&valve).await, [one, two]);
    // It was later than that: it was never in the first car.
    let known = Instant::from_microseconds(fleet.register.now.microseconds() - 1).unwrap();
    fleet.register.correct(by, "2029-05-01T00:00Z", put).await;
    let later = "=BS-P1-K1 of car 4102, 2029-05-01 to now";
    assert_eq!(fleet.stays(&valve).await, [later]);
    // As it was known before the correction, it was in the first car in March.
    let mut view = fleet.register.store.view().await.unwrap();
    let car = view.car(&first.car).await.unwrap().unwrap();
    let as_at = AsAt {
        effective: at("2029-03-15T00:00Z"),
        known,
    };
    let then = view.fitted(&car, as_at).await.unwrap();
    let codes: Vec<&str> = then.iter().map(|one| one.position.as_str()).collect();
    assert_eq!(codes, [PANEL_PLACE, "=BS-P1-K1"]);
    fleet.register.proves().await;
}

async fn use_flows_through_the_panel_to_what_is_inside(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, panel) = (fleet.components.valves[0].clone(), fleet.panels[0].clone());
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    fleet.record("2029-01-02", put).await;
    for (car, day, km) in [
        ("4101", "2029-02-01", 1_000),
        ("4101", "2029-03-01", 9_000),
        ("4102", "2029-03-01", 50_000),
        ("4102", "2029-03-11", 54_000),
    ] {
        fleet.record(day, read(car, km)).await;
    }
    let (first, second) = (position("4101", PANEL_PLACE), position("4102", PANEL_PLACE));
    fleet.record("2029-02-01", fitted(&panel, &first)).await;
    fleet.record("2029-03-01", moved(&panel, &second)).await;
    fleet.record("2029-03-11", removed(&panel)).await;
    // The overhaul of the valve is due at 600,000 km, of which 8,000 and 4,000 are run.
    let life = fleet.register.life(&valve).await;
    let run = life.fitments.iter().map(|fitment| {
        let until = fitment.meters_until[Meter::Odometer].unwrap();
        until - fitment.meters_from[Meter::Odometer].unwrap()
    });
    let sum = run.fold(Amount(0), |sum, run| sum + run);
    assert_eq!(sum, Amount::whole(12_000));
    let due = fleet.register.due(&valve, OVERHAUL).await;
    assert_eq!(due.car, None, "on no car it runs no further");
    // Back on a car at 54,000 km, its kilometres go on from there.
    fleet
        .record("2029-03-12", judged(&panel, Condition::Serviceable))
        .await;
    fleet.record("2029-03-12", fitted(&panel, &second)).await;
    fleet.record("2029-04-11", read("4102", 60_000)).await;
    let due = fleet.register.due(&valve, OVERHAUL).await;
    assert_eq!(due.position.unwrap().as_str(), "=BS-P1-K1");
    fleet.register.proves().await;
}

async fn a_panel_is_fitted_only_with_what_may_be_fitted_inside_it(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, panel) = (fleet.components.valves[0].clone(), fleet.panels[0].clone());
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    fleet.record("2029-02-01", put).await;
    fleet
        .record("2029-03-01", judged(&valve, Condition::Unserviceable))
        .await;
    let on_car = fitted(&panel, &position("4101", PANEL_PLACE));
    let refused = fleet.refuses("2029-04-01", on_car.clone()).await;
    let forbids = Refusal::ConditionForbids {
        component: valve.clone(),
        condition: Condition::Unserviceable,
        allowed: "only a serviceable component is fitted; judge it on evidence first",
    };
    assert_eq!(refused, forbids);
    // Before that it was serviceable, and whoever knew of the fitting late may still say so.
    let by = fleet.record("2029-02-15", on_car).await;
    let before = judged(&valve, Condition::Unserviceable);
    let contradicts = fleet.refuses("2029-02-10", before).await;
    assert_eq!(contradicts.conflicting_entry(), Some(by), "{contradicts}");
    fleet.register.proves().await;
}

async fn a_position_that_must_be_filled_keeps_the_assembly_off_cars(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let needs = domain::configuration::part::Vacancy::Forbidden;
    let kind = domain::configuration::car_type::PositionKind::ControlPanel;
    let inner = assemblies::inner("-P1", kind, &[assemblies::PANEL], needs);
    let part = assemblies::assembly("BF-31", vec![inner]);
    fleet.record("2029-01-02", part).await;
    let frame = tests::facts::component("BF-31", "1");
    let receipt = tests::facts::receipt(&frame, "2020-01-01");
    fleet
        .record("2029-01-02", Fact::ComponentReceived(receipt))
        .await;
    let place = tests::fleet::place(PANEL_PLACE, kind, &[assemblies::PANEL, FRAME, "BF-31"]);
    let car_type = tests::fleet::car_type_with("D", &[], [place]);
    fleet.record("2029-01-02", car_type).await;
    let car = tests::facts::car("4101", "D", tests::fleet::DEPOT);
    fleet.register.bring("2029-01-02T00:00Z", car).await;
    let on_car = fitted(&frame, &position("4101", PANEL_PLACE));
    let refused = fleet.refuses("2029-02-01", on_car.clone()).await;
    let vacant = Refusal::Vacant {
        assembly: frame.clone(),
        position: "-P1".parse().unwrap(),
    };
    assert_eq!(refused, vacant);
    let panel = fleet.panels[0].clone();
    let put = fitted_at(&panel, &inside(&frame, "-P1"));
    fleet.record("2029-02-01", put).await;
    fleet.record("2029-02-02", on_car).await;
    // On the car it may be taken out to be exchanged: what is vacant then is a finding.
    fleet.record("2029-02-03", removed(&panel)).await;
    fleet.register.proves().await;
}

async fn an_inner_component_is_in_one_place_like_any_other(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (valve, other) = (
        fleet.components.valves[0].clone(),
        fleet.components.valves[1].clone(),
    );
    let [panel, second] = fleet.panels.clone();
    let place = inside(&panel, INNER_VALVE);
    let by = fleet.record("2029-02-01", fitted_at(&valve, &place)).await;
    let elsewhere = Refusal::FittedElsewhere {
        component: valve.clone(),
        at: place.into(),
        by,
    };
    let on_car = fitted(&valve, &position("4101", FIRST));
    assert_eq!(fleet.refuses("2029-03-01", on_car).await, elsewhere);
    let into_other = fitted_at(&valve, &inside(&second, INNER_VALVE));
    assert_eq!(fleet.refuses("2029-03-01", into_other).await, elsewhere);
    let to_store = relocated(&valve, "Shelf 3");
    assert_eq!(fleet.refuses("2029-03-01", to_store).await, elsewhere);
    // It moves straight from one panel to the other, and changes places with one on a car.
    let onward = moved_to(&valve, &inside(&second, INNER_VALVE));
    fleet.record("2029-03-01", onward).await;
    fleet
        .record("2029-03-01", fitted(&other, &position("4101", FIRST)))
        .await;
    fleet.record("2029-04-01", swapped(&valve, &other)).await;
    assert_eq!(
        fleet.stays(&valve).await,
        ["=BS-K1 of car 4101, 2029-04-01 to now"]
    );
    let surroundings = fleet.register.life(&other).await.surroundings;
    assert_eq!(surroundings.outermost(), Some(&second));
    fleet.register.proves().await;
}

async fn what_is_scrapped_is_empty(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let (relay, panel) = (fleet.components.relay.clone(), fleet.panels[0].clone());
    let place = inside(&panel, INNER_RELAY);
    let by = fleet.record("2029-02-01", fitted_at(&relay, &place)).await;
    let holds = Refusal::PositionTaken {
        position: place.clone().into(),
        holds: relay.clone(),
        by,
    };
    let scrapped = judged(&panel, Condition::Scrapped);
    assert_eq!(fleet.refuses("2029-03-01", scrapped.clone()).await, holds);
    fleet
        .record("2029-03-01", removed_as(&relay, Condition::Serviceable))
        .await;
    fleet.record("2029-03-02", scrapped).await;
    let too_late = fleet.refuses("2029-03-03", fitted_at(&relay, &place)).await;
    assert!(
        matches!(too_late, Refusal::Contradicts { .. }),
        "{too_late}"
    );
    fleet.register.proves().await;
}

async fn what_belongs_inside_an_assembly_is_not_fitted_to_the_car(url: &str) {
    let mut fleet = Fleet::found(url).await;
    let valve = fleet.components.valves[0].clone();
    let direct = fitted(&valve, &position("4101", "=BS-P1-K1"));
    let refused = fleet.refuses("2029-02-01", direct).await;
    let hint = "fit it at -K1 of the assembly that is at =BS-P1";
    assert!(refused.to_string().contains(hint), "{refused}");
    let nowhere = fitted_at(&valve, &inside(&fleet.panels[0].clone(), "-X9"));
    let refused = fleet.refuses("2029-02-01", nowhere).await;
    assert!(
        matches!(
            refused,
            Refusal::Unknown {
                what: "position",
                ..
            }
        ),
        "{refused}"
    );
    let relay = fleet.components.relay.clone();
    let wrong = fitted_at(&relay, &inside(&fleet.panels[0].clone(), INNER_VALVE));
    let refused = fleet.refuses("2029-02-01", wrong).await;
    assert!(matches!(refused, Refusal::NotApproved { .. }), "{refused}");
    let within_valve = fitted_at(&relay, &inside(&valve, INNER_VALVE));
    let refused = fleet.refuses("2029-02-01", within_valve).await;
    assert!(matches!(refused, Refusal::Unknown { .. }), "{refused}");
}

each_database!(
    a_panel_takes_its_valves_with_it,
    a_valve_is_exchanged_while_its_panel_is_in_the_workshop,
    places_inside_assemblies_go_to_any_depth,
    a_valve_put_in_late_was_in_all_the_cars_of_its_panel,
    use_flows_through_the_panel_to_what_is_inside,
    a_panel_is_fitted_only_with_what_may_be_fitted_inside_it,
    a_position_that_must_be_filled_keeps_the_assembly_off_cars,
    an_inner_component_is_in_one_place_like_any_other,
    what_is_scrapped_is_empty,
    what_belongs_inside_an_assembly_is_not_fitted_to_the_car,
);
