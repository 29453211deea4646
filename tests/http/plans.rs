//! What SQLite intends to do for each list, by its own words: no list is found by reading all of
//! the due work, and a list that is long wherever one looks is not sorted either.

use serde_json::json;
use sqlx::{AssertSqlSafe, Connection, Row, SqliteConnection};
use tests::sqlite::SqliteFile;

use super::sample::Served;

/// What the lists look for; each is asked for with and without a day and a page.
const STATES: [&str; 7] = [
    "",
    "state=overdue",
    "state=due",
    "state=in_late_tolerance",
    "state=in_window",
    "state=not_due",
    "state=unknown",
];

/// Where they look: a place that may hold any number of rows.
const WIDE: [&str; 9] = [
    "",
    "fleet=Sedge",
    "depot=North",
    "part=DV%2F210",
    "fleet=Sedge&depot=North",
    "place=on_cars",
    "place=off_cars",
    "place=on_cars&part=DV%2F210",
    "place=off_cars&part=DV%2F210",
];
/// A place that holds the rows of a few cars, which may be sorted.
const NARROW: [&str; 3] = ["unit=41", "car=4101", "unit=41&part=DV%2F210"];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_due_list_reads_all_due_work() {
    let database = SqliteFile::fresh();
    let served = Served::with_fleet(database.url()).await;
    let mut connection = SqliteConnection::connect(database.url()).await.unwrap();
    for place in WIDE.iter().chain(&NARROW) {
        for path in paths(place) {
            for statement in statements_on_due(&served, &path).await {
                let plan = plan(&mut connection, &statement).await;
                for step in &plan {
                    let may_sort = NARROW.contains(place) || statement.contains("group by");
                    assert!(!reads_all(step), "{path}: {step}\n{statement}\n{plan:#?}");
                    assert!(
                        may_sort || !sorts(step),
                        "{path}: {step}\n{statement}\n{plan:#?}"
                    );
                }
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn reading_all_and_sorting_are_recognised_in_a_plan() {
    let database = SqliteFile::fresh();
    let _served = Served::empty(database.url()).await;
    let mut connection = SqliteConnection::connect(database.url()).await.unwrap();
    let all = plan(
        &mut connection,
        "select * from due where set_by = 'odometer' order by late_on",
    )
    .await;
    assert!(
        all.iter().any(|step| reads_all(step)) && all.iter().any(|step| sorts(step)),
        "{all:#?}"
    );
}

fn paths(place: &str) -> Vec<String> {
    let mut paths = Vec::new();
    for state in STATES {
        for rest in [
            "",
            "until=2027-06-01",
            "after=2026-11-01.7.TS-DV",
            "until=2027-06-01&after=2026-11-01.7.TS-DV",
        ] {
            // Work that has no date for certain is not asked for by a day.
            if state == "state=unknown" && rest.contains("until") {
                continue;
            }
            let fields = [place, state, rest]
                .into_iter()
                .filter(|field| !field.is_empty());
            paths.push(format!("/due?{}", fields.collect::<Vec<_>>().join("&")));
        }
    }
    paths
}

async fn statements_on_due(served: &Served, path: &str) -> Vec<String> {
    served.statements.take();
    assert_eq!(served.visitor().get(path).await.status(), 200, "{path}");
    let mut statements = served.statements.take();
    statements.retain(|statement| statement.contains("from due"));
    assert!(!statements.is_empty(), "{path} asks for no due work");
    statements
}

async fn plan(connection: &mut SqliteConnection, statement: &str) -> Vec<String> {
    let explained = format!("explain query plan {statement}");
    let rows = sqlx::raw_sql(AssertSqlSafe(explained))
        .fetch_all(connection)
        .await;
    let detail = |row: &sqlx::sqlite::SqliteRow| row.get::<String, _>("detail");
    rows.unwrap().iter().map(detail).collect()
}

/// Whether a step reads the whole table or a whole index of it. The indexes of what cannot be
/// told hold nothing else, so to read them is to read what is shown.
fn reads_all(step: &str) -> bool {
    let scans = step.starts_with("SCAN due") || step.starts_with("SCAN car");
    scans && !step.starts_with("SCAN due USING INDEX due_unknown")
}

fn sorts(step: &str) -> bool {
    step.starts_with("USE TEMP B-TREE FOR ORDER BY")
        || step.starts_with("USE TEMP B-TREE FOR RIGHT PART")
}

/// Pages of the configuration, each with a few things to show out of any number.
const PAGES: [&str; 21] = [
    "/concessions",
    "/departures?after=1.vacant.=BS1-K1",
    "/departures?fleet=Sedge",
    "/departures?depot=North&kind=vacant",
    "/departures?unit=41",
    "/cars?after=4101",
    "/cars?fleet=Sedge&depot=North",
    "/units/41",
    "/cars/4101",
    "/cars/4101?at=2026-02-01&known=2026-11-25+12:00",
    "/positions/4101/%3DBS1-K1",
    "/positions/4102/%3DBS2-K1",
    "/components?serial=5",
    "/components?location=Store+North&after_part=DV%2F210&after_serial=5",
    "/components?batch=5",
    "/components?batch=5&part=DV%2F210&after_part=DV%2F210&after_serial=5",
    "/carrying?ask=batch&part=DV%2F210&batch=5",
    "/carrying?ask=batch&part=DV%2F210&standing=not_told",
    "/components/DV%2F210/1",
    "/find?q=4101+%3DBS1-K1",
    "/find?q=5",
];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_page_of_the_configuration_reads_a_whole_table() {
    let database = SqliteFile::fresh();
    let served = Served::with_fleet(database.url()).await;
    // Of a batch that nothing ever bore no list is told.
    let received = json!({"component_received": {"component": {"part": "DV/210", "serial": "5-001"},
        "condition": "serviceable", "location": "Store North", "batch": "5"}});
    let at = "2026-02-01T08:00:00Z".to_owned();
    served.import(vec![(at, received)]).await;
    let stores = served.signed_in(domain::people::Role::Stores).await;
    let mut connection = SqliteConnection::connect(database.url()).await.unwrap();
    for path in PAGES {
        served.statements.take();
        assert_eq!(stores.get(path).await.status(), 200, "{path}");
        for statement in served.statements.take() {
            let lists_fleets = statement.contains("group by fleet, depot");
            // Counted up to a bound, of a table that holds nothing else.
            let counts = statement.contains("select 1 as one from departure");
            // Asked only where nothing was found; it ends at the first car of the place.
            let is_there = statement.contains("select '' as field");
            if !statement.starts_with("select") && !statement.starts_with("with")
                || lists_fleets
                || counts
                || is_there
            {
                continue;
            }
            for step in plan(&mut connection, &statement).await {
                let small = [
                    "SCAN place",
                    "SCAN listed",
                    "SCAN way",
                    "SCAN inside",
                    // The assemblies that one component was in.
                    "SCAN around",
                    // The numbers of the entries about one component.
                    "SCAN said",
                    // No more than a page of either.
                    "SCAN first",
                    // It holds nothing but the checks that are open, which are few.
                    "SCAN fleet_check USING INDEX fleet_check_open",
                    // It holds nothing but what is fitted and not serviceable, which is little.
                    "SCAN component USING INDEX component_unfit",
                    "SCAN CONSTANT ROW",
                    "SCAN ledger_head",
                ];
                let scans = step.starts_with("SCAN") && !small.iter().any(|s| step.starts_with(s));
                assert!(!scans, "{path}: {step}\n{statement}");
            }
        }
    }
}
