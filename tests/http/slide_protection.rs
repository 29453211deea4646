//! Wheel-slide protection that is switched off: no air passes its electronics, so the circuit does
//! not describe them, and yet the cut-out is recorded, supposed and told with its axles.
//!
//! That the state of the protection must be known, and what is to be done without it: Regulation
//! (EU) 1302/2014, annex, 4.2.4.6.2.

use domain::people::Role;
use tests::each_database;

use super::isolations::record;
use super::sample::Served;
use crate::command_line::program::Place;

const OFF: &str = "4101:=WS-KF1:electrically_off";
const ALL_AXLES: &str = "Nothing protects from sliding on car 4101 axle 1, axle 2, axle 3, axle 4.";

fn query(close: &str) -> String {
    let close = close.replace(':', "%3A").replace('=', "%3D");
    format!("formation=TM101&close={close}")
}

async fn electronics_supposed_off_leave_the_axles_of_their_car_without_protection(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get(&format!("/decision?{}", query(OFF))).await;
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    assert_eq!(page.text(".warnings .slide_protection"), ALL_AXLES);
    // Every brake still acts.
    let sound = visitor.get("/decision?formation=TM101").await;
    let percentage = "#percentage tr:first-child td strong";
    assert_eq!(page.texts(percentage), sound.texts(percentage));
    let choices = page.attributes("select[name=place] option", "value");
    assert!(choices.contains(&"4101:=WS-KF1"), "{choices:?}");
    let answer = visitor
        .get(&format!("/api/v1/decision?{}", query(OFF)))
        .await
        .json();
    assert_eq!(answer["warnings"][0]["kind"], "slide_protection");
    let told = ["decide", "--formation", "TM101", "--close", OFF];
    let told = Place::on(url).run_on_database(&told);
    assert!(told.out.contains(ALL_AXLES), "{told:?}");
}

async fn a_speed_sensor_that_failed_takes_the_protection_of_its_axle(url: &str) {
    let served = Served::with_trains(url).await;
    let failed = query("4101:=BS2-SR1:failed");
    let page = served.visitor().get(&format!("/decision?{failed}")).await;
    assert_eq!(
        page.text(".warnings .slide_protection"),
        "Nothing protects from sliding on car 4101 axle 3."
    );
}

async fn electronics_are_neither_closed_nor_vented(url: &str) {
    let served = Served::with_trains(url).await;
    let closed = query("4101:=WS-KF1:closed_vented");
    let page = served.visitor().get(&format!("/decision?{closed}")).await;
    assert_eq!(page.status(), 422);
    let says = page.text("main");
    assert!(
        says.contains("electrically_off, bypassed, failed"),
        "{says}"
    );
    let controller = served.signed_in(Role::Controller).await;
    let closed = [
        ("position", "=WS-KF1"),
        ("state", "closed_vented"),
        ("cause", "switched off in the cabinet"),
    ];
    let refused = record(&controller, "4101", &closed).await;
    assert_eq!(refused.status(), 422);
    let says = refused.text("#new-state-wrong");
    assert!(
        says.contains("switched off electrically; bypassed; failed"),
        "{says}"
    );
    assert_eq!(controller.get("/isolations").await.count("table"), 0);
}

async fn what_is_recorded_off_stands_on_the_board_and_can_be_supposed_on(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let off = [
        ("position", "=WS-KF1"),
        ("state", "electrically_off"),
        ("cause", "switched off in the cabinet"),
        ("at", "2026-11-25 11:00"),
    ];
    let board = record(&controller, "4101", &off).await;
    assert_eq!(board.status(), 200, "{}", board.text("main"));
    assert!(board.text(".cut-outs tbody").contains("✕ electrically off"));
    assert_eq!(board.text(".warnings .slide_protection"), ALL_AXLES);
    let train = controller.get("/trains/T1").await;
    assert_eq!(train.text(".warnings .slide_protection"), ALL_AXLES);
    let checks = train.texts(".checks li");
    assert!(
        !checks.iter().any(|check| check.contains("pads")),
        "{checks:?}"
    );
    let on = "/trains/T1?close=4101%3A%3DWS-KF1%3Aopen";
    let on = controller.get(on).await;
    assert_eq!(
        (on.status(), on.count(".warnings .slide_protection")),
        (200, 0)
    );
}

async fn a_circuit_does_not_say_that_nothing_is_lost_while_axles_may_slide(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let circuit = |close: &str| format!("/decision/circuit?{}", query(close));
    let page = visitor.get(&circuit(OFF)).await;
    assert_eq!(page.count(".besides li"), 4, "{}", page.text("main"));
    let says = page.text("main");
    assert!(says.contains("✓ Every brake of the train works."), "{says}");
    assert!(!says.contains("Nothing is lost"), "{says}");
    let sound = visitor.get("/decision/circuit?formation=TM101").await;
    assert!(sound.text("main").contains("✓ Nothing is lost"));
}

each_database!(
    electronics_supposed_off_leave_the_axles_of_their_car_without_protection,
    a_speed_sensor_that_failed_takes_the_protection_of_its_axle,
    electronics_are_neither_closed_nor_vented,
    what_is_recorded_off_stands_on_the_board_and_can_be_supposed_on,
    a_circuit_does_not_say_that_nothing_is_lost_while_axles_may_slide,
);
