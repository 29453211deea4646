//! What the server itself refuses is told to people on a page that says that nothing was changed.

use domain::people::Role;
use reqwest::Method;
use tests::each_database;

use super::sample::Served;

async fn what_the_server_itself_refuses_is_told_on_a_page(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::Planner).await;
    let large = [("form_token", "x".repeat(70_000))];
    let requests = [
        (
            visitor.request(Method::GET, "/nothing"),
            404,
            "there is nothing at this address",
        ),
        (
            visitor.request(Method::GET, "/cars/%ff"),
            400,
            "cannot be read",
        ),
        (
            visitor.request(Method::DELETE, "/due"),
            405,
            "this address is not for that",
        ),
        (
            visitor.request(Method::POST, "/trains").form(&large),
            413,
            "larger than anything",
        ),
    ];
    for (request, status, said) in requests {
        let page = visitor.send(request).await;
        assert_eq!(
            (page.status(), page.text("h1").as_str()),
            (status, "Not done")
        );
        assert!(page.text("main").contains(said), "{}", page.text("main"));
        assert!(page.text("main").contains("Nothing was changed"));
    }
}

/// URL Standard (WHATWG), application/x-www-form-urlencoded: bytes that are no UTF-8 are replaced
/// when a form is decoded, and a ledger would keep what is left of them for ever.
async fn a_form_in_another_encoding_is_refused(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let last = served.store.view().await.unwrap().last_entry;
    let session = controller.get("/api/v1/session").await.json();
    let token = session["form_token"].as_str().unwrap();
    let send = async |cause: &str| {
        let body = format!(
            "form_token={token}&car=4102&position=%3DBS1-QM1&state=closed_vented&cause={cause}"
        );
        let request = controller.request(Method::POST, "/isolations/new");
        let request = request.header("content-type", "application/x-www-form-urlencoded");
        controller.send(request.body(body)).await
    };
    let refused = send("caf%E9").await;
    assert_eq!(refused.status(), 422);
    let said = refused.text("main");
    assert!(said.contains("text in UTF-8 in its field cause"), "{said}");
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    assert_eq!(send("caf%C3%A9").await.status(), 200);
    assert_eq!(served.store.view().await.unwrap().last_entry, last + 1);
}

/// That nothing is due, departs or is carried in a place that is not there would be no answer.
async fn no_list_speaks_of_what_is_not_in_the_register(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::Planner).await;
    for path in [
        "/due.csv?car=9999",
        "/due.csv?unit=NOPE",
        "/due.xlsx?fleet=NOPE",
        "/due.csv?depot=NOPE",
        "/due.csv?part=NOPE",
        "/departures?unit=NOPE",
        "/departures.csv?fleet=NOPE",
        "/carrying?part=NOPE",
        "/carrying.csv?part=NOPE",
        "/components?part=NOPE",
        "/api/v1/departures?car=9999",
        "/api/v1/carrying?part=NOPE",
        "/api/v1/cars?fleet=NOPE",
        "/api/v1/visits?unit=NOPE",
    ] {
        let page = visitor.get(path).await;
        assert_eq!(page.status(), 422, "{path}");
        let said = page.body();
        assert!(
            said.contains("one that is in the register"),
            "{path}: {said}"
        );
    }
}

each_database!(
    no_list_speaks_of_what_is_not_in_the_register,
    a_form_in_another_encoding_is_refused,
    what_the_server_itself_refuses_is_told_on_a_page,
);
