//! Limits and baselines are a matter of two people, whichever way they are told: what a task or a
//! procedure allows, what a car type is, and the revision that a new car comes with.

use domain::due::task::{AppliesTo, Limit, Task, TaskKind};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::{Actor, Role};
use domain::refusal::Refusal;
use store::Recorded;
use tests::each_database;
use tests::facts::{at, car, car_of_fleet};
use tests::fleet::{
    self, CAR_TYPE, DEPOT, LATER_VALVE, LIFE, OVERHAUL, PROCEDURE, VALVE, car_type_with, life,
    overhaul,
};
use tests::register::{Register, command, person, second_engineer};

const SINCE: &str = "2029-01-01T00:00Z";
const THEN: &str = "2029-06-01T00:00Z";

/// Somebody with every role there is.
fn alone() -> Actor {
    Actor::account(person(Role::BrakeEngineer).name, Role::ALL.to_vec())
}

/// A new revision or car of each kind, as it would be told by one and as it is proposed.
fn told() -> [(Fact, Proposal); 4] {
    let Fact::CarTypeDefined(design) = car_type_with("C", &[VALVE], None) else {
        panic!("a car type")
    };
    let Fact::ProcedureDefined(mut procedure) = fleet::procedure() else {
        panic!("a procedure")
    };
    procedure.revision = "B".parse().unwrap();
    let Fact::CarRegistered(new) = car_of_fleet("4104") else {
        panic!("a car")
    };
    let task = Box::new(overhaul("B", 60));
    [
        Proposal::CarType(design),
        Proposal::Task(task),
        Proposal::Procedure(Box::new(procedure)),
        Proposal::Car(new),
    ]
    .map(|proposal| (proposal.fact(), proposal))
}

/// How many revisions and cars there are.
async fn known(register: &Register) -> [usize; 4] {
    let mut view = register.store.view().await.unwrap();
    let of = |revision: &str| usize::from(revision == "B");
    let task = &view.documents.tasks[&OVERHAUL.parse().unwrap()];
    let task = of(task.document.revision.as_str());
    let procedures = view.documents.procedures.keys();
    let procedures = procedures.filter(|(code, _)| code.as_str() == PROCEDURE);
    let (types, procedures) = (view.documents.car_types.len(), procedures.count());
    let cars = view.car(&"4104".parse().unwrap()).await.unwrap();
    [types, task, procedures, usize::from(cars.is_some())]
}

async fn limits_and_baselines_are_true_only_once_another_has_approved(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let before = known(&register).await;
    for (place, (fact, proposal)) in told().into_iter().enumerate() {
        let one = register.refuses_of(alone(), command(at(THEN), fact)).await;
        assert!(matches!(one, Refusal::NeedsTwoPeople { .. }), "{one}");
        let proposal = register.record(THEN, Fact::Proposed(proposal)).await;
        let unchanged = known(&register).await;
        assert_eq!(unchanged[place..], before[place..], "{place}");
        let approval = command(at(THEN), Fact::Approved { proposal });
        let own = register.refuses_of(alone(), approval).await;
        assert_eq!(own, Refusal::SamePerson { by: proposal });
        register.approve(proposal, THEN).await;
        assert_eq!(known(&register).await[place], before[place] + 1, "{place}");
    }
    register.proves().await;
}

async fn a_planner_proposes_a_car_and_only_a_brake_engineer_approves_it(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let [.., (_, new)] = told();
    let proposed = command(at(THEN), Fact::Proposed(new));
    let planner = person(Role::Planner);
    let proposal: Seq = match register.send(planner.clone(), proposed).await {
        Ok(Recorded::Now(entry)) => entry.seq,
        other => panic!("not recorded: {other:?}"),
    };
    let another = Actor::account("C. Third".parse().unwrap(), vec![Role::Planner]);
    for who in [planner, another] {
        let approval = command(at(THEN), Fact::Approved { proposal });
        let refused = register.refuses_of(who, approval).await;
        assert!(matches!(refused, Refusal::NotPermitted { .. }), "{refused}");
    }
    register.approve(proposal, THEN).await;
    assert_eq!(register.revision("4104", "2029-07-01").await, "A");
    register.proves().await;
}

/// As what is brought in is checked against all that the input lists.
async fn a_task_that_is_proposed_counts_as_done_only_what_there_is(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let proposed = |satisfies: &str| {
        let satisfies = vec![satisfies.parse().unwrap()];
        let task = Task {
            satisfies,
            ..overhaul("B", 60)
        };
        Fact::Proposed(Proposal::Task(Box::new(task)))
    };
    let slip = register.refuses(THEN, proposed("LL-DW")).await;
    assert_eq!(slip.field(), "task", "{slip}");
    assert!(slip.to_string().contains("LL-DW"), "{slip}");
    let itself = register.refuses(THEN, proposed(OVERHAUL)).await;
    assert_eq!(itself.field(), "satisfies", "{itself}");
    let proposal = register.record(THEN, proposed(LIFE)).await;
    register.approve(proposal, THEN).await;
    register.proves().await;
}

/// A tolerance of a life limit, which has none, and one in which the work would count for the next
/// due point as soon as it was done.
async fn tolerances_that_cannot_be_meant_are_refused(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let with = |task: Task, (early, late): (i64, i64)| {
        let limit = Limit {
            early,
            late,
            ..task.limits[0]
        };
        let revision = "C".parse().unwrap();
        let limits = vec![limit].try_into().unwrap();
        let task = Task {
            revision,
            limits,
            ..task
        };
        Fact::Proposed(Proposal::Task(Box::new(task)))
    };
    for (task, tolerances) in [(life(), (0, 1)), (overhaul("B", 2), (56, 0))] {
        let refused = register.refuses(THEN, with(task, tolerances)).await;
        assert_eq!(refused.field(), "limits", "{refused}");
    }
    let meant = with(overhaul("B", 2), (55, 30));
    register.record(THEN, meant).await;
    register.proves().await;
}

/// Work that is due on something would be due no more, and an inspection that was done would count as
/// the overhaul: that is another task.
async fn a_revision_of_a_task_keeps_what_it_is_done_on_and_its_kind(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let elsewhere = Task {
        applies_to: AppliesTo::Part(LATER_VALVE.parse().unwrap()),
        revision: "B".parse().unwrap(),
        ..life()
    };
    let of_cars = Task {
        applies_to: AppliesTo::CarType(CAR_TYPE.parse().unwrap()),
        ..overhaul("B", 60)
    };
    let inspected = Task {
        kind: TaskKind::Inspection,
        ..overhaul("B", 60)
    };
    for (task, field) in [
        (elsewhere, "part"),
        (of_cars, "car_type"),
        (inspected, "kind"),
    ] {
        let proposed = Fact::Proposed(Proposal::Task(Box::new(task.clone())));
        for fact in [proposed, Fact::TaskDefined(task)] {
            let refused = register.refuses(THEN, fact).await;
            assert_eq!(refused.field(), field, "{refused}");
            let told = refused.to_string();
            assert!(told.contains("as in revision A"), "{told}");
        }
    }
    // Its life is limited as before.
    register.due(&components.valves[0], LIFE).await;
    register.proves().await;
}

/// Of a car that is known, one person says where it is kept; a proposal is no way round what
/// puts a revision in force.
async fn a_known_car_is_not_proposed_anew(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let Fact::CarRegistered(revised) = car("4101", "B", DEPOT) else {
        panic!("a car")
    };
    let anew = register.refuses(THEN, Fact::Proposed(Proposal::Car(revised)));
    let anew = anew.await;
    assert!(matches!(anew, Refusal::AlreadyDefined { .. }), "{anew}");
    let moved = command(at(THEN), car("4101", "A", "South"));
    let moved = register.send(person(Role::Planner), moved).await;
    assert!(moved.is_ok(), "{moved:?}");
    // Proposed twice, it is there once.
    let [.., (_, new)] = told();
    let first = register.record(THEN, Fact::Proposed(new.clone())).await;
    let second = register.record(THEN, Fact::Proposed(new)).await;
    register.approve(first, THEN).await;
    let approval = command(at(THEN), Fact::Approved { proposal: second });
    let twice = register.refuses_of(second_engineer(), approval).await;
    assert!(matches!(twice, Refusal::AlreadyDefined { .. }), "{twice}");
    register.proves().await;
}

each_database!(
    a_task_that_is_proposed_counts_as_done_only_what_there_is,
    a_revision_of_a_task_keeps_what_it_is_done_on_and_its_kind,
    limits_and_baselines_are_true_only_once_another_has_approved,
    a_planner_proposes_a_car_and_only_a_brake_engineer_approves_it,
    a_known_car_is_not_proposed_anew,
    tolerances_that_cannot_be_meant_are_refused,
);
