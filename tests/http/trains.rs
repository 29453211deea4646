//! The list of trains: what runs now, and apart from it what a later formation has superseded.

use domain::people::Role;
use tests::each_database;

use super::sample::Served;

async fn a_train_whose_cars_were_formed_into_another_stands_apart_and_says_where_they_are(
    url: &str,
) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let before = controller.get("/trains").await;
    assert_eq!(before.count("#superseded"), 0);
    assert!(before.texts("#formed tbody th").contains(&"T1".to_owned()));
    let form = before.form("#form form").fill("train", "T9");
    let formed = controller.submit(&form.fill("formation", "TM101")).await;
    assert_eq!(formed.status(), 200, "{}", formed.text("main"));
    let after = controller.get("/trains").await;
    assert_eq!(after.texts("#superseded tbody th"), ["T1"]);
    let says = after.texts("#superseded tbody td")[0].clone();
    assert!(says.contains("Cars of it are now in T9"), "{says}");
    let now = after.texts("#formed tbody th");
    assert!(now.contains(&"T9".to_owned()) && !now.contains(&"T1".to_owned()));
}

each_database!(a_train_whose_cars_were_formed_into_another_stands_apart_and_says_where_they_are);
