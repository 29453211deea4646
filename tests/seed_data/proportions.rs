//! What part of the fleet's work is due, overdue or without a date: a railway that keeps up,
//! with the troubles it is meant to show and no others.

use domain::due::state::State;
use domain::ledger::record::founder;
use domain::time::{Day, Zone};
use store::read::View;
use store::read::due::{DueFilter, DueItem};
use store::{Imported, Store};
use tests::keep_all::KeepAll;
use tests::sqlite::SqliteFile;

use super::COMMANDS;

/// The day the fleet is seen at.
const TODAY: &str = "2026-11-20";
/// Rows read together.
const ROWS: usize = 2_000;

async fn listed(view: &mut View, state: Option<State>, until: Option<Day>) -> Vec<DueItem> {
    let mut filter = DueFilter {
        state,
        until,
        rows: ROWS,
        ..DueFilter::all(TODAY.parse().unwrap())
    };
    let mut all = Vec::new();
    loop {
        let mut page = view.due(&filter).await.unwrap();
        let more = ROWS < page.len();
        page.truncate(ROWS);
        filter.after = page.last().map(|item| item.cursor.clone());
        all.append(&mut page);
        if !more {
            return all;
        }
    }
}

/// One in so many parts of a thousand.
fn per_mille(part: usize, whole: usize) -> usize {
    1_000 * part / whole
}

/// Whether it is due at once since something on the car was touched.
fn is_touched(item: &DueItem) -> bool {
    let at_once = item.forecast.at_once;
    at_once.is_some_and(|found| found.cause.is_touched())
}

#[tokio::test]
async fn most_work_is_neither_due_nor_overdue_nor_without_a_date() {
    let file = SqliteFile::fresh();
    let store = Store::open(file.url(), Zone::UTC).await.unwrap();
    let commands = COMMANDS.iter().map(|command| ((), command.clone()));
    let now = "2026-11-21T00:00Z".parse().unwrap();
    let imported = store
        .import(
            &founder("Founder".parse().unwrap()),
            now,
            commands,
            &mut KeepAll,
        )
        .await
        .unwrap();
    assert!(matches!(imported, Imported::Kept(_)), "{imported:?}");

    let mut view = store.view().await.unwrap();
    let dated = listed(&mut view, None, None).await;
    let unknown = listed(&mut view, Some(State::Unknown), None).await;
    let undated = unknown.iter().filter(|item| item.forecast.on.is_none());
    let no_date = listed(&mut view, Some(State::NoDate), None).await.len() + undated.count();
    let whole = dated.len() + no_date;
    let today: Day = TODAY.parse().unwrap();
    let overdue = dated.iter().filter(|item| item.state == State::Overdue);
    let overdue_fitted = overdue.clone().filter(|item| item.car.is_some()).count();
    let soon = dated.iter().filter(|item| {
        let on = item.forecast.on;
        on.is_some_and(|on| today <= on && on <= today.plus_days(30))
    });
    let at_once = dated.iter().filter(|item| item.forecast.at_once.is_some());
    let touched = dated.iter().filter(|item| is_touched(item));
    let touched: Vec<(&str, &str)> = touched
        .filter_map(|item| Some((item.car.as_ref()?.as_str(), item.task.as_str())))
        .collect();
    assert_eq!(touched, [("4114", "BRAKETEST-PC-K")]);
    for (what, part, bounds) in [
        ("overdue", overdue.count(), 5..=20),
        ("overdue on cars", overdue_fitted, 2..=10),
        ("due within 30 days", soon.count(), 30..=60),
        ("due at once", at_once.count(), 1..=5),
        ("without a date", no_date, 1..=20),
        ("not to be told", unknown.len(), 3..=20),
    ] {
        let share = per_mille(part, whole);
        assert!(bounds.contains(&share), "{what}: {share} ‰ of {whole}");
    }
}
