//! How a train is asked about: what is assumed and said so, what cannot be read, and what a form
//! without scripts supposes.

use tests::each_database;

use super::decision::COCK;
use super::sample::Served;

async fn what_was_assumed_is_said_and_what_is_not_known_gives_no_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1").await;
    let asked = page.text(".asked-line");
    assert!(asked.contains("load normal (assumed)"), "{asked}");
    let usual = "brake position EP (assumed: usual by the car types)";
    assert!(asked.contains(usual), "{asked}");
    assert!(asked.contains("distance to go not known"), "{asked}");
    let form = page
        .form(".question-form")
        .fill("load", "maximum")
        .fill("speed", "120");
    let page = visitor.submit(&form).await;
    assert!(
        page.text(".asked-line").contains("load maximum; "),
        "now it is asked, not assumed"
    );
    let form = page
        .form(".question-form")
        .fill("speed", "")
        .fill("load", "");
    let page = visitor.submit(&form).await;
    assert_eq!(
        page.text(".verdict h2"),
        "? No verdict, because this is missing:"
    );
    assert_eq!(page.texts(".verdict li"), ["load state of the question"]);
}

async fn a_field_that_cannot_be_read_is_named_and_there_is_no_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served
        .visitor()
        .get("/trains/T1?speed=fast&gradient=-12")
        .await;
    assert_eq!(page.status(), 422);
    assert_eq!(
        page.text("#ask-speed-wrong"),
        "expected a number from 1 to 500 (km/h)"
    );
    assert_eq!(page.attribute("#ask-speed", "value"), Some("fast"));
    assert_eq!(page.count("[id$=-wrong]"), 1);
    assert_eq!(page.count(".verdict:not(.no_verdict)"), 0);
}

async fn names_that_are_not_there_are_clear_errors(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for (path, status, expected) in [
        ("/trains/T9", 404, "train T9 is not in the register"),
        (
            "/decision?formation=TM101,4999",
            404,
            "unit or car 4999 is not in the register",
        ),
        (
            "/decision?formation=TM101,4101",
            422,
            "each car once in a formation",
        ),
        (
            "/decision",
            422,
            "units and cars from the front, separated by commas",
        ),
        (
            "/trains/T1?close=5101:%3DBS1-QM1:closed_vented",
            422,
            "a car of this train: 4101, 4102, 4103, 4106, 4105, 4104",
        ),
        (
            "/trains/T1?close=4101:%3DXX-QM9:closed_vented",
            422,
            "a position in the brake circuit or the wheel-slide protection of car 4101 (type TM-DA revision 1)",
        ),
        (
            "/trains/T1?close=4101:%3DBS1-QM1:shut",
            422,
            "states are closed_vented",
        ),
        (
            "/trains/T1?gradiant=-20",
            422,
            "one of load, brake_position, speed, gradient",
        ),
        (
            "/trains/T1?formation=TM101",
            422,
            "a train has its own formation",
        ),
    ] {
        let page = visitor.get(path).await;
        assert_eq!(page.status(), status, "{path}");
        let refusal = page.text(".refusal");
        assert!(refusal.contains(expected), "{path}: {refusal}");
    }
}

async fn a_form_without_scripts_supposes_a_state_and_takes_it_back(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1?speed=120").await;
    assert_eq!(page.count("#suppose ~ details"), 0);
    let of_first_car = page.attribute("#suppose ~ p a:nth-of-type(1)", "href");
    let page = visitor.get(of_first_car.unwrap()).await;
    let form = page.form("#suppose ~ details form").fill("close", COCK);
    let page = visitor.submit(&form).await;
    // The many empty fields of the form do not stay in the address.
    assert_eq!(
        page.path(),
        "/trains/T1?speed=120&close=4101%3A%3DBS1-QM1%3Aclosed_vented&list=4101"
    );
    let of_second_car = page.attribute("#suppose ~ p a:nth-of-type(1)", "href");
    let page = visitor.get(of_second_car.unwrap()).await;
    let form = page.form("#suppose ~ details:nth-of-type(2) form");
    let form = form
        .fill("place", "4102:=AP-GQ1")
        .fill("state", "electrically_off");
    let page = visitor.submit(&form).await;
    assert_eq!(page.count(".what-if-banner li"), 2);
    assert!(page.text(".equipment").contains("compressor 1 of 2"));
    let back = page
        .attribute(".what-if-banner li:first-child a", "href")
        .unwrap();
    let page = visitor.get(back).await;
    assert_eq!(page.count(".what-if-banner li"), 1);
    assert!(
        page.text(".what-if-banner li")
            .contains("Car 4102, =AP-GQ1")
    );
}

each_database!(
    what_was_assumed_is_said_and_what_is_not_known_gives_no_verdict,
    a_field_that_cannot_be_read_is_named_and_there_is_no_verdict,
    names_that_are_not_there_are_clear_errors,
    a_form_without_scripts_supposes_a_state_and_takes_it_back,
);
