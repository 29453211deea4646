//! What a record of maintenance and the history of a life-limited part must hold: sources 14 CFR
//! 43.9(a), 14 CFR 91.417(a) and (b), 14 CFR 121.380 and 121.380a, 49 CFR 238.309(f) and 49 CFR
//! 229.29(g)(3), annual edition of 2015. The register is none of an aircraft's; the rules are the
//! strictest published model of such records. Names and numbers are ours.

use domain::configuration::component::{ComponentRef, Subject};
use domain::due::point::Point;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::life::{Line, life};
use domain::ledger::reached::HostMeters;
use domain::people::Role;
use domain::time::Zone;
use domain::units::{Amount, ByMeter, Meter};
use serde_json::Value;
use store::Recorded;
use tests::each_database;
use tests::facts::{at, certificate, fitted, overhauled, position, read, removed};
use tests::fleet::{self, FIRST, LIFE, OVERHAUL};
use tests::register::{Register, command, person};

async fn founded(url: &str) -> (Register, ComponentRef) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, components.valves[0].clone())
}

/// An overhaul as a technician records it.
async fn recorded(register: &mut Register, valve: &ComponentRef) -> Seq {
    let overhaul = overhauled(valve, certificate());
    let command = command(at("2029-03-02T00:00Z"), overhaul);
    match register.send(person(Role::Technician), command).await {
        Ok(Recorded::Now(entry)) => entry.seq,
        other => panic!("not recorded: {other:?}"),
    }
}

/// The entry as the export of the ledger has it: the body that is hashed.
async fn body(register: &Register, entry: Seq) -> Value {
    let mut view = register.store.view().await.unwrap();
    let kept = view.entry(entry).await.unwrap().unwrap();
    serde_json::from_str(&kept.body).unwrap()
}

/// 14 CFR 43.9(a)(1) to (4): a description of the work or a reference to it, the date it was
/// completed, the name of who did it, and of who approved it with signature, number and kind of
/// certificate.
async fn an_entry_holds_what_was_done_when_by_whom_and_who_approved_it(url: &str) {
    let (mut register, valve) = founded(url).await;
    let entry = recorded(&mut register, &valve).await;
    let kept = {
        let mut view = register.store.view().await.unwrap();
        view.entry(entry).await.unwrap().unwrap().entry
    };
    assert_eq!(kept.actor, person(Role::Technician).name);
    assert_eq!(kept.effective_at, at("2029-03-02T00:00Z"));
    let body = body(&register, entry).await;
    let done = &body["task_done"];
    assert_eq!(done["task"], OVERHAUL);
    let release = &done["release"];
    assert_eq!(
        release["done"],
        "dismantled, cleaned, seals and springs replaced, tested"
    );
    assert_eq!(release["instruction"], "MI 44 revision C");
    assert_eq!(release["signed_on"], "2029-03-01");
    assert_eq!(release["signed_by"], "S. Signatory");
    assert_eq!(release["number"], "C 1187");
    assert_eq!(release["issuer"], "Fenwick Brake Works, approval 12");
}

/// 49 CFR 238.309(f)(1) and 229.29(g)(3): the date and place of the work, the person who did it
/// and the supervisor; where work on one brake system is split, each component has its own.
async fn each_component_has_its_own_date_place_person_and_supervisor(url: &str) {
    let (mut register, first) = founded(url).await;
    let second = fleet::components().valves[1].clone();
    let entry = recorded(&mut register, &first).await;
    let mut another = certificate();
    another.signed_on = "2029-04-01".parse().unwrap();
    another.place = Some("Brockholt".parse().unwrap());
    another.supervised_by = Some("W. Watcher".parse().unwrap());
    let other = register
        .record("2029-04-02T00:00Z", overhauled(&second, another))
        .await;
    for (entry, serial, day, place, supervisor) in [
        (entry, "1", "2029-03-01", "Fenwick", "V. Supervisor"),
        (other, "2", "2029-04-01", "Brockholt", "W. Watcher"),
    ] {
        let body = body(&register, entry).await;
        let done = &body["task_done"];
        assert_eq!(done["subject"]["component"]["serial"], serial);
        let release = &done["release"];
        assert_eq!(release["signed_on"], day);
        assert_eq!(release["place"], place);
        assert_eq!(release["signed_by"], "S. Signatory");
        assert_eq!(release["supervised_by"], supervisor);
    }
}

/// 14 CFR 91.417(a)(2)(i) to (iii), 121.380(a)(2): total time, current status of life-limited
/// parts, and time since last overhaul of what is overhauled on a time basis.
async fn the_status_holds_total_life_left_and_time_since_overhaul(url: &str) {
    let (mut register, valve) = founded(url).await;
    let overhaul = recorded(&mut register, &valve).await;
    register
        .record("2029-04-01T00:00Z", read("4101", 10_000))
        .await;
    register
        .record(
            "2029-04-01T00:00Z",
            fitted(&valve, &position("4101", FIRST)),
        )
        .await;
    register
        .record("2029-05-01T00:00Z", read("4101", 22_000))
        .await;
    register.record("2029-05-01T00:00Z", removed(&valve)).await;
    let found = register.life(&valve).await;
    let history = found.history();
    let none = ByMeter::default();
    let used = history.used(Meter::Odometer, (&none, register.now), &Zone::UTC);
    assert_eq!(used.total.unwrap(), Amount::whole(12_000));
    let documents = register.store.view().await.unwrap().documents;
    let due = history.due(&documents, &HostMeters::UNKNOWN, &Zone::UTC);
    let life_limit = due.iter().find(|(task, _)| task.code.as_str() == LIFE);
    let (_, row) = life_limit.unwrap();
    let Point::At(limit) = row.points.meters.odometer else {
        panic!("{:?}", row.points);
    };
    assert_eq!(limit.due, Amount::whole(1_800_000));
    let since = found.done.iter().find(|done| done.by == overhaul).unwrap();
    assert_eq!(
        (since.at, since.task.as_str()),
        (at("2029-03-02T00:00Z"), OVERHAUL)
    );
    // What the paper says is left stands in the record, apart from what the register works out.
    let body = body(&register, overhaul).await;
    let left = &body["task_done"]["release"]["left"][0];
    assert_eq!(left["task"], LIFE);
    assert_eq!(left["left"]["run"]["meter"], "odometer");
}

/// 14 CFR 91.417(b)(2), 121.380a(a): status records go with what is sold, whole: the history of
/// a part is one list under part number and serial number, each line an entry of the ledger.
async fn the_history_of_a_part_goes_with_it_entry_by_entry(url: &str) {
    let (mut register, valve) = founded(url).await;
    let overhaul = recorded(&mut register, &valve).await;
    let found = register.life(&valve).await;
    let mut view = register.store.view().await.unwrap();
    let entries = view.entries_of(&found.record).await.unwrap();
    let lines = life(
        (&found.record, &found.fitments, &found.surroundings.history),
        entries,
        (&[Meter::Odometer], &found.last_read),
        &Zone::UTC,
    );
    let told = lines.iter().filter_map(|line| match line {
        Line::Entry(entry) => Some(entry),
        Line::CameOff(_) | Line::Gap(_) => None,
    });
    let told: Vec<_> = told.collect();
    assert_eq!(told.first().unwrap().seq, found.record.id);
    assert_eq!(told.last().unwrap().seq, overhaul);
    let of_valve = |fact: &Fact| match fact {
        Fact::ComponentReceived(receipt) => receipt.component == valve,
        Fact::TaskDone { subject, .. } => *subject == Subject::Component(valve.clone()),
        _ => false,
    };
    assert!(told.iter().all(|entry| of_valve(&entry.fact)));
}

each_database!(
    an_entry_holds_what_was_done_when_by_whom_and_who_approved_it,
    each_component_has_its_own_date_place_person_and_supervisor,
    the_history_of_a_part_goes_with_it_entry_by_entry,
    the_status_holds_total_life_left_and_time_since_overhaul,
);
