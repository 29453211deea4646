//! Files that are no tables, or damaged ones. None may stop the program.

use super::{errors_of, folder, read};
use crate::columns::TABLES;
use crate::input::limits::{CELL_MAX_BYTES, RECORD_MAX_BYTES};
use proptest::prelude::*;

const HEADER: &[u8] = b"part,title,kind\n";

fn with_header(rows: &[u8]) -> Vec<String> {
    errors_of("parts.csv", &[HEADER, rows].concat())
}

#[test]
fn another_encoding_is_named_with_its_row_and_column() {
    let errors = with_header(b"K1,cock,hose\nK2,Druckbeh\xe4lter,reservoir\n");
    assert_eq!(errors.len(), 1);
    let expected = "parts.csv, row 3, column title: “Druckbeh\u{fffd}lter”; \
                    expected text in UTF-8";
    assert!(errors[0].starts_with(expected), "{errors:?}");
}

#[test]
fn bytes_that_are_text_only_across_two_cells_are_no_text() {
    let errors = with_header(b"K\xc3,\xa9,hose\n");
    assert_eq!(errors.len(), 2, "{errors:?}");
}

#[test]
fn utf_16_is_recognised_with_and_without_its_mark() {
    let utf16 = |mark: &[u8]| {
        let text: Vec<u8> = HEADER.iter().flat_map(|b| [*b, 0]).collect();
        errors_of("parts.csv", &[mark, &text].concat())
    };
    for errors in [utf16(b""), utf16(b"\xff\xfe"), utf16(b"\xfe\xff")] {
        assert_eq!(errors.len(), 1);
        assert!(errors[0].contains("this looks like UTF-16"), "{errors:?}");
    }
}

#[test]
fn control_characters_and_line_breaks_in_cells_are_refused() {
    for cell in ["a\0b", "\"a\nb\"", "\"a\r\nb\"", "a\tb", "a\u{85}b"] {
        let errors = with_header(format!("K1,{cell},hose\n").as_bytes());
        assert_eq!(errors.len(), 1, "{cell:?}: {errors:?}");
        assert!(
            errors[0].starts_with("parts.csv, row 2, column title: “a"),
            "{errors:?}"
        );
        assert!(errors[0].ends_with("no line breaks and no control characters"));
        assert_eq!(errors[0].lines().count(), 1, "an error is one line");
    }
}

#[test]
fn characters_that_turn_what_is_shown_are_refused_in_titles() {
    let errors =
        with_header("K1,cock \u{202e}gnirts,hose\nK2,Druckbehälter\u{a0}2,hose\n".as_bytes());
    assert_eq!(errors.len(), 1, "{errors:?}");
    assert!(
        errors[0].starts_with("parts.csv, row 2, column title: "),
        "{errors:?}"
    );
    assert!(errors[0].ends_with("as U+202E in it"), "{errors:?}");
}

#[test]
fn a_line_break_inside_a_cell_does_not_shift_the_rows_after_it() {
    let errors = with_header(b"K1,\"a\nb\",hose\nK2,c,x\n");
    assert!(
        errors[1].starts_with("parts.csv, row 3, column kind"),
        "{errors:?}"
    );
}

#[test]
fn a_huge_cell_is_refused_and_shown_shortened() {
    let huge = "x".repeat(CELL_MAX_BYTES + 1);
    let errors = with_header(format!("K1,{huge},hose\nK2,b,x\n").as_bytes());
    assert_eq!(errors.len(), 2);
    assert!(
        errors[0].contains("at most 32000 bytes in a cell"),
        "{errors:?}"
    );
    assert!(errors[0].len() < 300);
}

#[test]
fn a_quotation_mark_that_is_not_closed_ends_the_file_with_an_error() {
    let rest = "K2,b,hose\n".repeat(RECORD_MAX_BYTES / 8);
    let errors = with_header(format!("K1,\"a,hose\n{rest}").as_bytes());
    assert_eq!(errors.len(), 1);
    assert!(errors[0].starts_with("parts.csv, row 2: expected a row of at most"));
    assert!(errors[0].ends_with("perhaps a quotation mark is not closed"));
}

#[test]
fn a_line_without_an_end_is_refused_before_it_fills_the_memory() {
    let errors = with_header(&vec![b'x'; RECORD_MAX_BYTES * 4]);
    assert_eq!(errors.len(), 1);
    assert!(errors[0].starts_with("parts.csv, row 2"), "{errors:?}");
}

#[test]
fn an_empty_file_lacks_its_header_row() {
    for content in ["", "\n\n", "\u{feff}"] {
        let errors = errors_of("parts.csv", content.as_bytes());
        assert_eq!(errors, ["parts.csv: expected a header row"]);
    }
}

#[test]
fn a_thousand_columns_are_too_many() {
    let errors = errors_of("parts.csv", "part,".repeat(1_000).as_bytes());
    assert_eq!(errors, ["parts.csv, row 1: expected at most 64 columns"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_bytes_make_the_reader_panic(
        content in proptest::collection::vec(any::<u8>(), 0..2_000),
        table in 0..TABLES.len(),
    ) {
        let name = format!("{}.csv", TABLES[table].name);
        errors_of(&name, &content);
    }

    #[test]
    fn no_cells_make_the_reader_panic(
        cells in proptest::collection::vec("[-=+0-9a-zT:.;@\"\n\u{1}é, ]{0,12}", 0..60),
        table in 0..TABLES.len(),
    ) {
        let table = TABLES[table];
        let names: Vec<&str> = table.columns.iter().map(|column| column.name).collect();
        let mut content = names.join(",") + "\n";
        for row in cells.chunks(names.len()) {
            content += &(row.join(",") + "\n");
        }
        let folder = folder(&[
            (&format!("{}.csv", table.name), content.as_bytes()),
            ("car_types.csv", b"car_type,revision\n"),
        ]);
        let (_, errors) = read(folder.path());
        prop_assert!(errors.iter().all(|error| error.to_string().lines().count() == 1));
    }
}
