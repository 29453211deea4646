//! A database that is not there: whoever only asks is told, and nothing is made.

use super::program::{GOOD, Place, program_piped_to_nobody};

const ASKING: [&[&str]; 7] = [
    &["verify"],
    &["due"],
    &["decide", "--train", "9001"],
    &["circuit", "T", "A"],
    &["export", "copy.jsonl"],
    &["rebuild"],
    &["import", "nothing", "--dry-run"],
];

#[test]
fn a_file_that_is_not_there_is_not_made_by_asking() {
    let place = Place::fresh();
    for arguments in ASKING {
        let refused = place.run_on_database(arguments);
        assert_eq!(refused.code, Some(1), "{arguments:?}: {refused:?}");
        assert_eq!(refused.out, "", "{arguments:?}");
        let is_import = arguments[0] == "import";
        let said = is_import || refused.err.contains("there is no such file");
        assert!(said, "{arguments:?}: {}", refused.err);
        assert!(!place.path("register.sqlite").exists(), "{arguments:?}");
    }
}

#[test]
fn a_file_that_holds_no_register_is_told() {
    let place = Place::fresh();
    std::fs::write(place.path("register.sqlite"), "").unwrap();
    let refused = place.run_on_database(&["due"]);
    assert_eq!(refused.code, Some(1), "{refused:?}");
    assert!(
        refused.err.contains("that database holds none"),
        "{refused:?}"
    );
}

#[test]
fn a_database_that_the_server_does_not_have_is_one_sentence() {
    let Ok(url) = std::env::var("REGISTER_TEST_POSTGRES") else {
        return;
    };
    let (before, after) = url.split_once("://").unwrap();
    let (place, options) = after.split_once('?').unwrap_or((after, ""));
    let host = place.split('/').next().unwrap();
    let url = format!("{before}://{host}/no_such_register?{options}");
    let place = Place::on(&url);
    for arguments in [["due"].as_slice(), &["verify"], &["import", "nothing"]] {
        let refused = place.run_on_database(arguments);
        assert_eq!(refused.code, Some(1), "{refused:?}");
        let said = "the server has no database of that name";
        assert_eq!(refused.err.matches(said).count(), 1, "{}", refused.err);
        assert!(!refused.err.contains("error returned"), "{}", refused.err);
        assert_eq!(refused.err.lines().count(), 1, "{}", refused.err);
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    let place = Place::fresh();
    place.input("fleet", &GOOD);
    assert_eq!(place.run_on_database(&["import", "fleet"]).code, Some(0));
    let err = program_piped_to_nobody(&place, &["due"]);
    assert_eq!(err, "");
}
