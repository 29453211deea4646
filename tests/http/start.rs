//! The start page: each role finds its own question first.

use domain::people::Role;
use tests::each_database;

use super::sample::{Served, VALVES};

async fn the_question_of_the_reader_comes_first_and_is_marked(url: &str) {
    let served = Served::with_fleet(url).await;
    for role in Role::ALL {
        let page = served.signed_in(*role).await.get("/").await;
        let first = page.text(".question:first-child .asks");
        assert_eq!(first, format!("{role} · your role"), "{role}");
        assert_eq!(page.count(".question.own"), 1, "{role}");
        let cards = 6 + usize::from(*role == Role::Administrator);
        assert_eq!(page.count(".question"), cards, "{role}");
    }
    let stranger = served.visitor().get("/").await;
    assert_eq!(
        (stranger.count(".question"), stranger.count(".question.own")),
        (6, 0)
    );
    let accounts = served.signed_in(Role::Administrator).await;
    let link = accounts.get("/").await;
    let link = link.attribute(".question.own", "href").unwrap().to_owned();
    assert_eq!(accounts.get(&link).await.status(), 200);
}

async fn overdue_work_is_counted_on_cars_and_off_them(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.signed_in(Role::Planner).await.get("/").await;
    let told = page.text(".question.own");
    let counts = format!("3 overdue on cars, {} in stores and workshops", VALVES - 3);
    assert!(told.contains(&counts), "{told}");
    let link = page.attribute(".question.own", "href").unwrap();
    let list = served.visitor().get(link).await;
    assert_eq!(list.count("table.due tbody tr"), 3);
}

each_database!(
    the_question_of_the_reader_comes_first_and_is_marked,
    overdue_work_is_counted_on_cars_and_off_them,
);
