//! What every generated fleet keeps to.

use super::design::{design, folder};
use super::{Memory, as_at, commands, in_folder, options};
use crate::columns::TABLES;
use crate::generate::{Design, History, Options};
use domain::ledger::fact::Fact;
use domain::time::{Instant, Zone};
use domain::units::{Amount, Meter};
use std::collections::{BTreeMap, HashMap, HashSet};

#[test]
fn the_same_number_gives_the_same_bytes_and_another_number_another_fleet() {
    let bytes = |seed| {
        let (folder, _) = in_folder(Options {
            seed,
            ..options(20)
        });
        TABLES.map(|table| std::fs::read(folder.path().join(format!("{}.csv", table.name))).ok())
    };
    let first = bytes(1);
    assert!(first == bytes(1), "the same number gave other bytes");
    assert!(first != bytes(2), "another number gave the same bytes");
}

#[test]
fn a_fleet_of_any_size_reads_back_without_an_error() {
    for cars in [6, 7, 50, 150] {
        let (folder, summary) = in_folder(options(cars));
        let commands = commands(&folder);
        let registered: HashSet<_> = commands
            .iter()
            .filter_map(|command| match &command.fact {
                Fact::CarRegistered(car) => Some(&car.number),
                _ => None,
            })
            .collect();
        assert_eq!(registered.len() as u64, u64::from(cars));
        assert_eq!(summary.rows["cars"], u64::from(cars));
    }
}

#[test]
fn one_more_unit_leaves_the_others_as_they_were() {
    let (small, large) = (Memory::of(options(30)), Memory::of(options(60)));
    for table in ["cars", "readings", "isolations"] {
        let (small, large) = (small.table(table), large.table(table));
        let cars: HashSet<&String> = small.iter().map(|row| &row["car"]).collect();
        let same: Vec<_> = large
            .iter()
            .filter(|row| cars.contains(&row["car"]))
            .collect();
        let unchanged = small.iter().filter(|row| same.contains(row)).count();
        assert!(small.len() - unchanged <= small.len() / 20, "{table}");
    }
}

#[test]
fn the_design_is_written_as_it_was_read() {
    let (out, _) = in_folder(options(6));
    std::fs::copy(
        folder().path().join("formations.csv"),
        out.path().join("formations.csv"),
    )
    .expect("copied");
    let (written, read) = (Design::read(out.path()).expect("a design"), design());
    assert_eq!(written.parts, read.parts);
    assert_eq!(written.car_types, read.car_types);
    assert_eq!(written.tasks, read.tasks);
    assert_eq!(written.procedures, read.with_procedures().procedures);
    assert_eq!(written.rule_sets, read.rule_sets);
    assert_eq!(written.formations, read.formations);
}

#[test]
fn hoses_of_one_quarter_are_a_batch_and_nothing_else_has_one_where_nobody_knows_when() {
    let fleet = Memory::of(options(150));
    let components = fleet.table("components");
    let mut sizes: BTreeMap<&str, usize> = BTreeMap::new();
    for row in components {
        let made = row["manufactured_on"].as_str();
        if row["part"] != "H1" || made.is_empty() {
            assert_eq!(row["batch"], "", "{row:?}");
            continue;
        }
        let month: u32 = made[5..7].parse().expect("a month");
        let quarter = (month - 1) / 3 + 1;
        assert_eq!(row["batch"], format!("L{}-{quarter}", &made[2..4]));
        *sizes.entry(&row["batch"]).or_default() += 1;
    }
    assert!(sizes.values().any(|items| 1 < *items), "{sizes:?}");
}

/// A period in which something is somewhere.
type Period = (Instant, Option<Instant>);

fn no_two_overlap(what: &str, mut periods: Vec<Period>) {
    periods.sort_by_key(|(from, _)| *from);
    for pair in periods.windows(2) {
        let until = pair[0].1.expect("only the last lasts");
        assert!(until <= pair[1].0, "{what} {periods:?}");
    }
}

#[test]
fn a_component_is_in_one_place_and_a_position_holds_one_component() {
    let (folder, _) = in_folder(options(150));
    let mut of_components: BTreeMap<String, Vec<Period>> = BTreeMap::new();
    let mut of_positions: BTreeMap<String, Vec<Period>> = BTreeMap::new();
    let mut received: HashMap<String, Instant> = HashMap::new();
    for command in commands(&folder) {
        match command.fact {
            Fact::ComponentReceived(receipt) => {
                let name = receipt.component.to_string();
                let before = received.insert(name, command.effective_at);
                assert_eq!(before, None, "a serial number twice");
            }
            Fact::Fitted(fitting) => {
                let period = (command.effective_at, fitting.ended.map(|end| end.at));
                let name = fitting.component.to_string();
                assert!(received[&name] < period.0, "{name} fitted before it came");
                of_components.entry(name).or_default().push(period);
                of_positions
                    .entry(fitting.at.to_string())
                    .or_default()
                    .push(period);
            }
            _ => {}
        }
    }
    of_components
        .into_iter()
        .chain(of_positions)
        .for_each(|(what, periods)| {
            no_two_overlap(&what, periods);
        });
}

#[test]
fn components_fit_their_positions_by_part() {
    let (folder, _) = in_folder(options(150));
    let design = design();
    let mut types = HashMap::new();
    for command in commands(&folder) {
        match command.fact {
            Fact::CarRegistered(car) => {
                let car_type = design.car_type(&car.car_type, &car.revision);
                types.insert(car.number, car_type.expect("a car type"));
            }
            Fact::Fitted(fitting) => {
                let at = fitting.at.on_car().expect("all are on cars");
                let position = types[&at.car].position(&at.position);
                let approved = &position.expect("a position").approved;
                assert!(approved.contains(&fitting.component.part), "{}", fitting.at);
            }
            _ => {}
        }
    }
}

#[test]
fn meters_run_forwards_at_rates_that_can_be_and_start_anew_only_when_replaced() {
    let (folder, _) = in_folder(options(150));
    let mut last: HashMap<_, (Instant, Amount)> = HashMap::new();
    let mut replaced: HashMap<_, (Instant, Amount, Amount)> = HashMap::new();
    for command in commands(&folder) {
        let at = command.effective_at;
        match command.fact {
            Fact::MeterReplaced {
                car,
                meter,
                last_value,
                first_value,
            } => {
                replaced.insert((car, meter), (at, last_value, first_value));
            }
            Fact::ReadingTaken(reading) => {
                let key = (reading.car.clone(), reading.meter);
                let Some((before, shown)) = last.insert(key.clone(), (at, reading.value)) else {
                    continue;
                };
                let turn = replaced
                    .get(&key)
                    .filter(|(when, ..)| (before..at).contains(when));
                let run = match turn {
                    None => reading.value - shown,
                    Some((_, last, first)) => (*last - shown) + (reading.value - *first),
                };
                let most = match reading.meter {
                    Meter::Odometer => 1_200,
                    _ => 24,
                };
                let most = Amount::whole(most).units() * before.days_until(at) + 1.0;
                assert!(Amount(0) <= run, "{} runs backwards", reading.car);
                assert!(
                    run.units() <= most,
                    "{} runs {run} in one step",
                    reading.car
                );
            }
            _ => {}
        }
    }
    assert!(!last.is_empty() && !replaced.is_empty());
}

#[test]
fn nothing_is_later_than_the_day_it_is_seen_at() {
    for history in [History::Years(3), History::Months(12)] {
        let (folder, _) = in_folder(Options {
            history,
            ..options(150)
        });
        for command in commands(&folder) {
            assert!(
                command.effective_at <= Zone::UTC.start_of(as_at()),
                "{command:?}"
            );
            if let Fact::ComponentReceived(receipt) = command.fact {
                let received = Zone::UTC.day_of(command.effective_at);
                assert!(receipt.manufactured_on.is_none_or(|day| day <= received));
                assert!(receipt.overhauled_on.is_none_or(|day| day <= received));
            }
        }
    }
}

#[test]
fn cars_in_units_are_in_one_unit_and_units_in_trains_in_one_train() {
    let memory = Memory::of(options(150));
    let once = |table: &str, column: &str| {
        let rows = memory.table(table);
        let different: HashSet<&String> = rows.iter().map(|row| &row[column]).collect();
        assert!(!rows.is_empty());
        assert_eq!(different.len(), rows.len(), "{table} {column}");
    };
    once("units", "car");
    once("trains", "unit");
}

#[test]
fn formations_come_in_their_shares() {
    let memory = Memory::of(options(390));
    let units = |name: &str| {
        let rows = memory.table("units").iter();
        rows.filter(|row| row["place"] == "1" && row["unit"].starts_with(name))
            .count()
    };
    assert_eq!((units("R3"), units("S4")), (90, 30));
}

#[test]
fn a_wide_design_has_as_many_components_and_tasks_as_asked_for() {
    let wide = Options {
        positions_per_car: Some(101),
        history: History::Months(12),
        ..options(60)
    };
    let (folder, summary) = in_folder(wide);
    assert!(60 * 100 <= summary.fitted, "{summary:?}");
    assert!(60 * 240 <= summary.tasks, "{summary:?}");
    assert!(!commands(&folder).is_empty());
}

#[test]
fn a_design_without_formations_or_with_unknown_car_types_is_refused() {
    let folder = folder();
    let file = folder.path().join("formations.csv");
    let expected = |content: Option<&str>| {
        match content {
            Some(content) => std::fs::write(&file, content),
            None => std::fs::remove_file(&file),
        }
        .expect("a file");
        let errors = Design::read(folder.path()).expect_err("refused");
        errors
            .into_iter()
            .map(|error| error.expected)
            .collect::<Vec<_>>()
    };
    let header = "formation,place,car_type,revision,orientation,share\n";
    let unknown = expected(Some(&format!("{header}R3,1,RM,B,forward,1\n")));
    assert_eq!(unknown, ["a car type and revision of car_types.csv"]);
    let gap = expected(Some(&format!("{header}R3,2,RM,A,forward,1\n")));
    assert_eq!(gap, ["each of 1 to 1 once, in rows that follow"]);
    let listed = ["a file that lists at least one formation"];
    assert_eq!(expected(Some(header)), listed);
    assert_eq!(expected(None), listed);
}
