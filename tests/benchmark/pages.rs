//! The due list and the page of a car: never the same page twice in a row.

use crate::client::{Client, escaped};
use crate::figures::{Table, Times};
use crate::fleet::Fleet;

/// Pages of each kind.
const PAGES: usize = 1_000;
/// Pages before time is taken: each connection makes its statements ready once.
const BEFORE: usize = 30;

const TARGET: &str = "median < 3 ms, no growth";

/// Measures pages.
pub(crate) fn measure(client: &mut Client, fleet: &Fleet, table: &mut Table) {
    let lists: Vec<String> = (0..PAGES).map(|number| question(fleet, number)).collect();
    let due = timed(client, lists.iter().map(|list| format!("/due?{list}")));
    table.put("due list, page of 50, ms", TARGET, due.to_string());
    let due = lists.iter().map(|list| format!("/api/v1/due?{list}"));
    let due = timed(client, due);
    table.put("due list, JSON of 200, ms", "", due.to_string());
    let cars = fleet.spread(PAGES).map(|car| format!("/cars/{car}"));
    let cars = timed(client, cars);
    table.put("car page, ms", TARGET, cars.to_string());
}

/// Asks for pages one after the other, the first few once before.
pub(crate) fn timed(client: &mut Client, paths: impl Iterator<Item = String>) -> Times {
    let paths: Vec<String> = paths.collect();
    for path in paths.iter().take(BEFORE) {
        client.get(path);
    }
    let mut times = Times::new();
    for path in &paths {
        times.add(client.get(path).took);
    }
    times
}

/// What people ask of the due list in turn: everything by a day, a depot's overdue work, a
/// part, a unit, a depot's work that may be done now, what cannot be told.
fn question(fleet: &Fleet, number: usize) -> String {
    let nth = |of: &[String]| escaped(&of[number / 6 % of.len()]);
    let (depot, day) = (nth(&fleet.depots), number / 6 % 28 + 1);
    match number % 6 {
        0 => format!("until=2027-02-{day:02}"),
        1 => format!("depot={depot}&state=overdue&until=2026-11-{day:02}"),
        2 => format!("part={}", nth(&fleet.parts)),
        3 => format!(
            "unit={}",
            escaped(&fleet.units[number % fleet.units.len()].0)
        ),
        4 => format!("depot={depot}&state=in_window&until=2027-01-{day:02}"),
        _ => format!("depot={depot}&state=unknown"),
    }
}
