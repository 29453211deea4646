//! What is away as a page and for programs, and the forms that send it there.

use domain::people::Role;
use tests::each_database;

use super::sample::Served;

async fn what_is_sent_away_is_expected_until_it_is_back(url: &str) {
    let served = Served::with_fleet(url).await;
    let keeper = served.signed_in(Role::Stores).await;
    let empty = keeper.get("/away").await;
    assert_eq!(empty.text(".done"), "Nothing is away.");
    for (name, kind) in [("Works", "contractor"), ("Van", "in_transit")] {
        let form = keeper.get("/locations/new").await.form("#new form");
        let form = form.fill("name", name).fill("kind", kind);
        let named = keeper.submit(&form.fill("at", "2026-01-01 08:00")).await;
        assert_eq!(named.path(), "/components", "{}", named.body());
    }
    let page = keeper.get("/components").await;
    assert!(page.text(".locations").contains("Works contractor"));
    let page = keeper.get("/components/DV%2F210/10").await;
    let form = page.form("#relocate form");
    let lost = keeper.submit(&form.clone().fill("to", "Van")).await;
    assert_eq!(lost.status(), 422);
    assert!(
        lost.text("main")
            .contains("Bound for: nothing is not possible"),
        "{}",
        lost.text("main")
    );
    let sent = form.fill("to", "Van").fill("bound_for", "Works");
    let sent = keeper.submit(&sent.fill("expected_on", "2026-12-10")).await;
    assert_eq!(sent.status(), 200, "{}", sent.body());
    assert!(sent.fact("Where").contains("bound for Works"));
    served.statements.take();
    let page = keeper.get("/away").await;
    assert!(served.statements.take().len() < 10);
    assert_eq!(
        (page.count("tbody tr"), page.count(".state-overdue")),
        (1, 0)
    );
    let answer = keeper.get("/api/v1/away").await.json();
    assert_eq!(answer["away"][0]["bound_for"], "Works");
    served.pass(60 * 86_400);
    let keeper = served.signed_in(Role::Stores).await;
    let page = keeper.get("/away").await;
    assert_eq!(page.count(".state-overdue"), 1, "{}", page.body());
    let answer = keeper.get("/api/v1/away").await.json();
    assert!(0 < answer["away"][0]["overdue_days"].as_i64().unwrap());
}

each_database!(what_is_sent_away_is_expected_until_it_is_back);
