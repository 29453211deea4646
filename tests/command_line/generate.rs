//! `register generate`: the invented fleet in `seed-data/` is what it writes.

use super::program::{Place, seed_data};
use std::collections::BTreeMap;
use std::path::Path;

/// The CSV files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).unwrap();
    let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let csv = names.filter(|name| Path::new(name).extension().is_some_and(|e| e == "csv"));
    csv.map(|name| (name.clone(), std::fs::read(folder.join(name)).unwrap()))
        .collect()
}

/// Generates a fleet to the designs of `seed-data/`.
fn generated(options: &[&str]) -> BTreeMap<String, Vec<u8>> {
    let place = Place::fresh();
    let seed_data = seed_data();
    let design = ["generate", "new", "--design", seed_data.to_str().unwrap()];
    let done = place.run(&[&design, options].concat());
    assert_eq!(done.code, Some(0), "{done:?}");
    files(&place.path("new"))
}

#[test]
fn the_committed_fleet_is_the_one_that_the_default_options_give() {
    let generated = generated(&[]);
    let mut committed = files(&seed_data());
    // What units are made of is written by people and only read here.
    assert!(committed.remove("formations.csv").is_some());
    let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
    assert_eq!(names(&committed), names(&generated));
    for (name, content) in committed {
        assert!(
            generated[&name] == content,
            "{name} is not as generated; `register generate FOLDER` writes it anew"
        );
    }
}

#[test]
fn the_same_number_gives_the_same_bytes_and_another_number_another_fleet() {
    let small = |seed| generated(&["--cars", "9", "--years", "1", "--seed", seed]);
    let first = small("7");
    assert!(first == small("7"), "the same number gave other bytes");
    assert!(first != small("8"), "another number gave the same bytes");
}

#[test]
fn a_folder_that_is_there_is_left_as_it_is() {
    let place = Place::fresh();
    place.input("mine", &[("cars.csv", "mine")]);
    let seed_data = seed_data();
    let refused = place.run(&["generate", "mine", "--design", seed_data.to_str().unwrap()]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(refused.err.contains("mine is there already"), "{refused:?}");
    let left = files(&place.path("mine"));
    assert_eq!(
        left,
        BTreeMap::from([("cars.csv".to_owned(), b"mine".to_vec())])
    );
}
