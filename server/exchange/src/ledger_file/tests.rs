use super::*;

const BODY: Letters<'_> = Letters {
    fact: r#""withdrawn""#,
    consequences: Some(r#"{"void":[]}"#),
};

/// As an entry of format 1 is kept.
const WITHOUT: Letters<'_> = Letters {
    consequences: None,
    ..BODY
};

fn entries(count: i64, letters: Letters<'_>) -> Vec<(Entry, Hash)> {
    let mut before = GENESIS;
    let mut entries = Vec::new();
    for number in 1..=count {
        let entry = Entry {
            seq: Seq(number),
            command: Uuid::from_u128(u128::try_from(number).expect("positive")),
            recorded_at: Instant::from_microseconds(1_000_001).expect("a time"),
            effective_at: Instant::from_microseconds(1).expect("a time"),
            actor: "A. Tester".parse().expect("a name"),
            reason: "because \"so\"\n".to_owned(),
            corrects: (number == 2).then_some(Seq(1)),
            fact: Fact::Withdrawn,
            consequences: None,
        };
        before = link(&before, &entry, letters);
        entries.push((entry, before));
    }
    entries
}

/// The entries after one, up to another, of five.
fn file(after: usize, until: usize) -> String {
    file_of(after, until, BODY)
}

fn file_of(after: usize, until: usize, letters: Letters<'_>) -> String {
    let all = entries(5, letters);
    let at = |number: usize| Link {
        number: i64::try_from(number).expect("small"),
        hash: number.checked_sub(1).map_or(GENESIS, |place| all[place].1),
    };
    let mut out = Vec::new();
    write_head(&mut out, &Head::new(at(after), at(until), at(5))).expect("memory");
    for (entry, hash) in &all[after..until] {
        write_entry(&mut out, entry, (letters, hash)).expect("memory");
    }
    String::from_utf8(out).expect("text")
}

fn proof(file: &str) -> Result<Head, String> {
    verify(file.as_bytes(), |_| ()).map_err(|why| why.to_string())
}

#[test]
fn the_whole_and_any_stretch_prove_themselves() {
    for (after, until) in [(0, 5), (0, 1), (2, 4), (4, 5), (5, 5), (0, 0)] {
        let head = proof(&file(after, until)).expect("whole");
        let count = i64::try_from(until - after).expect("small");
        assert_eq!(head.count, count);
        assert_eq!(head.register_last, 5);
    }
}

#[test]
fn a_copy_of_the_older_format_proves_itself_and_one_of_a_newer_is_told() {
    let (now, older) = ("\"format\":2", "\"format\":1");
    let whole = file_of(0, 5, WITHOUT);
    assert!(!whole.contains("consequences"));
    for copy in [
        &whole,
        &whole.replacen(now, older, 1),
        &file(0, 5).replacen(now, older, 1),
    ] {
        assert_eq!(proof(copy).expect("whole").count, 5);
    }
    let changed = whole.replacen(now, older, 1).replace("because", "Because");
    let why = proof(&changed).expect_err("changed");
    assert!(why.starts_with("entry 1 is damaged"), "{why}");
    let newer = whole.replacen(now, "\"format\":3,\"more\":1", 1);
    let why = proof(&newer).expect_err("of a later program");
    assert!(why.starts_with("it is of format 3"), "{why}");
    let none = whole.replacen(now, "\"format\":0", 1);
    assert!(proof(&none).is_err());
}

#[test]
fn the_first_bad_entry_is_named_whatever_is_changed() {
    let whole = file(0, 5);
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    for (number, line) in lines.iter().enumerate().skip(1) {
        for (from, to) in [
            ("A. Tester", "B. Tester"),
            ("because", "Because"),
            ("1970-01-01T00:00:01.000001Z", "1970-01-01T00:00:01.000002Z"),
            ("0000-0000-0000-", "0000-0000-0001-"),
            ("\"corrects\":", "\"corrects\":7,\"was\":"),
            ("\\\"withdrawn\\\"", "\\\"withdrawn\\\" "),
            ("{\\\"void\\\":[]}", "{}"),
            ("\"kind\":\"withdrawn\"", "\"kind\":\"moved\""),
        ] {
            let changed = line.replacen(from, to, 1);
            assert_ne!(changed, *line, "{from}");
            let mut others = lines.clone();
            others[number] = &changed;
            let why = proof(&others.concat()).expect_err("changed");
            assert!(
                why.starts_with(&format!("entry {number} is damaged")),
                "{why}"
            );
        }
        let mut without = lines.clone();
        without.remove(number);
        let why = proof(&without.concat()).expect_err("one is left out");
        let told = match number {
            5 => "it ends after entry 4 and should end after entry 5".to_owned(),
            _ => format!(
                "entry {number} is missing: entry {} is in its place",
                number + 1
            ),
        };
        assert_eq!(why, told);
        let mut twice = lines.clone();
        twice.insert(number, line);
        assert!(proof(&twice.concat()).is_err(), "entry {number} twice");
    }
}

#[test]
fn a_file_that_ends_early_or_late_or_is_none_is_told() {
    let whole = file(0, 5);
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let short = proof(&lines[..4].concat()).expect_err("short");
    assert_eq!(short, "it ends after entry 3 and should end after entry 5");
    let cut = proof(&whole[..whole.len() - 9]).expect_err("cut");
    assert_eq!(cut, "entry 5 is damaged: the file ends within its line");
    let three = file(0, 3);
    let long = format!("{three}{}", lines[4]);
    let long = proof(&long).expect_err("long");
    assert_eq!(
        long,
        "entry 4 was added: by the first line the last is entry 3"
    );
    let other_end = whole.replacen("\"last_hash\":\"", "\"last_hash\":\"0", 1);
    assert!(proof(&other_end).is_err());
    for none in ["", "part,serial\n", "{}\n", "\u{0}"] {
        assert!(proof(none).is_err(), "{none}");
    }
}

#[test]
fn a_line_that_is_no_text_or_too_long_is_told_by_its_entry() {
    let whole = file(0, 5);
    let lines: Vec<&str> = whole.split_inclusive('\n').collect();
    let before = lines[..3].concat();
    let mut bytes = whole.clone().into_bytes();
    bytes[before.len() + 20] = 0xff;
    let why = verify(bytes.as_slice(), |_| ()).expect_err("no UTF-8");
    let why = why.to_string();
    assert_eq!(why, "entry 3 is damaged: its line is no text in UTF-8");
    let cut = format!("{before}{}", &lines[3][..20]);
    let why = proof(&cut).expect_err("cut");
    assert_eq!(why, "entry 3 is damaged: the file ends within its line");
    let most = usize::try_from(LINE_BYTES_MAX).expect("small");
    let why = proof(&format!("{before}{}\n", " ".repeat(most))).expect_err("too long");
    let told = "entry 3 is damaged: its line is longer than that of any entry";
    assert_eq!(why, told);
    bytes = whole.into_bytes();
    bytes[5] = 0xff;
    assert!(matches!(
        verify(bytes.as_slice(), |_| ()),
        Err(Unproven::NotALedger)
    ));
}

#[test]
fn what_comes_after_the_last_entry_and_is_none_is_not_called_one() {
    let whole = file(0, 5);
    let told = "after entry 5, the last by its first line, comes a line that is no entry";
    for more in ["\n", "  \n", "end", "{}\n"] {
        let why = proof(&format!("{whole}{more}")).expect_err("more");
        assert_eq!(why, told, "{more:?}");
    }
}

#[test]
fn a_first_line_that_cannot_be_true_of_the_register_is_told() {
    let whole = file(0, 5);
    let earlier = whole.replacen("\"register_last\":5", "\"register_last\":4", 1);
    assert_eq!(
        proof(&earlier).expect_err("earlier"),
        "its first line is wrong: the register ended with entry 4 by it, and here is entry 5"
    );
    let other = whole.replacen("\"register_hash\":\"", "\"register_hash\":\"0", 1);
    assert_eq!(
        proof(&other).expect_err("another hash"),
        "its first line is wrong: it tells two hashes of entry 5"
    );
}
