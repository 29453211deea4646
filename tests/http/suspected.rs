//! A suspected component is swapped to see whether the fault goes with it: fault finding offers it,
//! and whoever looks at the component, the train or its faults sees that it is on trial.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;

use super::sample::Served;

/// What was seen: the brakes of the first bogie stay off in service braking.
const SAW: &str = "saw=4101:bogie%201:service:not_braking";
const FAULTS: &str = "/trains/T1/faults?saw=4101:bogie%201:service:not_braking";
const HERE: &str = "=BS1-QN3 of car 4101";
const THERE: &str = "=BS2-QN3 of car 4101";

/// The row of a swap that tells whether the relay valve of the first bogie is at fault.
fn row(page: &Page) -> usize {
    let codes = page.texts("table.trials td .code");
    let found = codes.iter().position(|code| code == "=BS1-QN3");
    1 + found.unwrap_or_else(|| panic!("{codes:?}"))
}

async fn a_suspected_valve_is_swapped_and_is_on_trial_until_it_is_judged(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(FAULTS).await;
    let row = format!("table.trials tbody tr:nth-child({})", row(&page));
    let told = page.text(&row);
    assert!(told.contains(THERE), "the nearest like one: {told}");
    // No cock is among them, and what is suspected is not swapped with what is suspected as well.
    let codes = page.texts("table.trials td .code");
    assert!(codes.iter().all(|code| !code.contains("-QM")), "{codes:?}");
    let places = page.texts("table.trials small a");
    assert!(!places.contains(&HERE.to_owned()), "{places:?}");
    let other = page.text(&format!("{row} td:nth-child(4) > a"));
    let (part, serial) = other.split_once(" serial ").unwrap();
    let link = page.attribute(&format!("{row} td:nth-child(3) a"), "href");
    let valve = link.unwrap().trim_end_matches("#swap").to_owned();

    let form = technician.get(&valve).await.form("#swap form");
    let form = form
        .fill("other_part", part)
        .fill("other_serial", serial)
        .fill("why", "suspected");
    let done = technician.submit_and_agree(&form).await;
    assert_eq!(done.path(), valve);
    let said = done.text(".suspected");
    assert!(said.contains(HERE) && said.contains(THERE), "{said}");
    let swapped = technician
        .get(&format!("/components/{part}/{serial}"))
        .await;
    assert_eq!(swapped.count(".suspected"), 0, "it only made way");

    served.statements.take();
    let page = served.visitor().get("/trains/T1/faults").await;
    let sent = served.statements.take();
    assert!(sent.len() < 10, "{sent:#?}");
    let said = page.text(".on-trial");
    assert!(said.contains(HERE) && said.contains(THERE), "{said}");
    let train = technician.get("/trains/T1").await;
    let said = train.text("main");
    assert!(said.contains("Found unfit where it is fitted"), "{said}");
    let departs = technician.get("/departures?car=4101&kind=unfit").await;
    assert!(departs.text("tbody").contains("=BS2-QN3"));

    served.pass(60);
    let form = technician.get(&valve).await.form("#condition form");
    let form = form
        .fill("condition", "serviceable")
        .fill("evidence", "the fault stayed where it was");
    let judged = technician.submit(&form).await;
    assert_eq!(judged.count(".suspected"), 0);
    let page = technician.get("/trains/T1/faults").await;
    assert_eq!(page.count(".on-trial"), 0);
}

async fn programs_are_told_which_swap_would_tell(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let found = format!("/api/v1/faults?train=T1&{SAW}");
    let found = visitor.get(&found).await.json();
    let mut swaps = found["swaps"].as_array().unwrap().iter();
    let valve = swaps.find(|swap| swap["position"] == "=BS1-QN3").unwrap();
    assert_eq!(valve["second_at"]["position"], "=BS2-QN3");
    assert_eq!(valve["first"]["part"], valve["second"]["part"]);
    assert_ne!(valve["first"]["serial"], valve["second"]["serial"]);
}

each_database!(
    a_suspected_valve_is_swapped_and_is_on_trial_until_it_is_judged,
    programs_are_told_which_swap_would_tell,
);
