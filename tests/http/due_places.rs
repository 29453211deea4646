//! Due work on cars, and on what is on none: on the page, in its files and for programs.

use tests::each_database;

use super::due::{DATED, all_pages};
use super::sample::{Served, VALVES};

async fn work_is_asked_for_on_cars_and_off_them(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for (asked, expected) in [
        ("place=on_cars", 8),
        ("place=off_cars", DATED - 8),
        ("place=off_cars&part=DV%2F210", DATED - 8),
        ("place=on_cars&state=overdue", 3),
        ("place=on_cars&fleet=Sedge&car=4102", 3),
        ("place=on_cars&at=2026-11-25&unit=41", 9),
        // Of a past time a part alone is told of, wherever its components were.
        ("at=2026-11-25&part=DV%2F210", DATED),
        ("place=on_cars&at=2026-11-25&part=DV%2F210", 8),
        ("place=off_cars&at=2026-11-25&part=DV%2F210", DATED - 8),
        // All were in store then.
        ("place=off_cars&at=2025-12-31&part=DV%2F210", 2 * VALVES),
        ("at=2023-06-01&part=DV%2F210", 0),
    ] {
        let pages = all_pages(&visitor, &format!("/due?{asked}")).await;
        let places: Vec<String> = pages
            .iter()
            .flat_map(|page| page.texts("table.due tbody td:nth-child(6)"))
            .collect();
        assert_eq!(places.len(), expected, "{asked}");
        let fitted = asked.contains("on_cars");
        let anywhere = !asked.contains("place=");
        let as_asked = |place: &String| anywhere || place.starts_with("car ") == fitted;
        assert!(places.iter().all(as_asked), "{asked}: {places:?}");
        let file = visitor.get(&format!("/due.csv?{asked}")).await;
        assert_eq!(file.body().lines().count(), 1 + expected, "{asked}");
        let told = visitor.get(&format!("/api/v1/due?{asked}")).await.json();
        assert_eq!(told["due"].as_array().unwrap().len(), expected, "{asked}");
    }
    let page = visitor
        .get("/due?fleet=Sedge&state=overdue&place=on_cars")
        .await;
    let links = page.texts("nav[aria-label='Where the work is'] a");
    assert_eq!(links, ["in stores and workshops", "all"]);
    let off = page.attribute(
        "nav[aria-label='Where the work is'] a[href*='off_cars']",
        "href",
    );
    assert_eq!(off, Some("/due?place=off_cars&state=overdue"));
    for (wrong, field) in [
        ("place=off_cars&fleet=Sedge", "place"),
        ("place=up", "place"),
        ("place=off_cars&at=2026-11-20", "part"),
        ("car=4101&at=2023-06-01", "car"),
        ("unit=41&at=2023-06-01", "unit"),
    ] {
        let page = visitor.get(&format!("/due?{wrong}")).await;
        let marked = page.count(&format!("#wrong-{field}"));
        assert_eq!((page.status(), marked), (422, 1), "{wrong}");
        let told = visitor.get(&format!("/api/v1/due?{wrong}")).await;
        assert_eq!(
            (told.status(), told.json()["field"].as_str()),
            (422, Some(field))
        );
    }
}

each_database!(work_is_asked_for_on_cars_and_off_them);
