//! Tests of days and moments.

use super::*;

#[test]
fn days_round_trip_through_text_and_number() {
    let day: Day = "2024-02-29".parse().expect("exists");
    assert_eq!(day.to_string(), "2024-02-29");
    assert_eq!(Day::from_number(day.number()), Some(day));
    for bad in [
        "2023-02-29",
        "2024-13-01",
        "24-01-01",
        "2024-1-1",
        "1899-12-31",
        "2200-01-01",
    ] {
        assert!(bad.parse::<Day>().is_err(), "{bad}");
    }
    assert_eq!(EARLIEST.to_string(), "1900-01-01");
    assert_eq!(LATEST.to_string(), "2199-12-31");
}

#[test]
fn instants_need_an_offset() {
    let noon: Instant = "2026-03-31T13:00+01:00".parse().expect("has an offset");
    assert_eq!(noon.to_string(), "2026-03-31T12:00:00Z");
    assert!("2026-03-31T13:00".parse::<Instant>().is_err());
}

#[test]
fn a_day_begins_at_midnight_of_the_zone() {
    let day: Day = "2026-07-01".parse().expect("exists");
    assert_eq!(Zone::UTC.start_of(day).to_string(), "2026-07-01T00:00:00Z");
    assert_eq!(Zone::UTC.day_of(Zone::UTC.start_of(day)), day);
    assert_eq!(
        Zone::UTC.show(Zone::UTC.start_of(day)),
        "2026-07-01 00:00 +00:00"
    );
}

#[test]
fn a_time_that_the_clock_shows_never_or_twice_is_refused_with_both_moments() {
    let depot: Zone = "CET".parse().expect("a zone");
    let expected = |text: &str| depot.local(text).expect_err(text).expected;
    let never = expected("2026-03-29T02:30");
    let both = "2026-03-29T01:30+01:00 or 2026-03-29T03:30+02:00: the clock of the depot shows this time never";
    assert!(never.starts_with(both), "{never}");
    let twice = expected("2026-10-25T02:30");
    let both = "2026-10-25T02:30+02:00 or 2026-10-25T02:30+01:00: the clock of the depot shows this time twice";
    assert!(twice.starts_with(both), "{twice}");
    assert_eq!(expected("2026-10-25 02:30"), twice);
    for one in ["2026-10-25T02:30+02:00", "2026-10-25T02:30+01:00"] {
        let moment: Instant = one.parse().expect("a time with its offset");
        assert_eq!(depot.typed(moment), one);
    }
    let once = depot.local("2026-10-25T03:00").expect("shown once");
    assert_eq!(once.to_string(), "2026-10-25T02:00:00Z");
}

#[test]
fn moments_in_a_text_are_told_as_the_clock_of_the_depot_shows_them() {
    let depot: Zone = "CET".parse().expect("a zone");
    let text = "from 2026-07-01T10:00:00Z, not 2026-01-31T23:59:58.5Z; Z-7, 12Z, ’Z";
    assert_eq!(
        depot.retold(text),
        "from 2026-07-01 12:00 +02:00, not 2026-02-01 00:59:58 +01:00; Z-7, 12Z, ’Z"
    );
}

#[test]
fn a_moment_is_read_as_it_is_shown_and_as_it_is_typed() {
    let depot: Zone = "CET".parse().expect("a zone");
    let moment: Instant = "2026-03-31T08:15:30.25Z".parse().expect("a moment");
    assert_eq!(depot.show(moment), "2026-03-31 10:15 +02:00");
    assert_eq!(depot.told(moment), "2026-03-31 10:15:30 +02:00");
    assert_eq!(depot.exact(moment), "2026-03-31 10:15:30.250000 +02:00");
    let read = |text: &str| depot.moment(text).expect(text).to_string();
    assert_eq!(read(&depot.exact(moment)), "2026-03-31T08:15:30.25Z");
    for (text, meant) in [
        ("2026-03-31 10:15 +02:00", "2026-03-31T08:15:00Z"),
        ("2026-03-31 10:15:30", "2026-03-31T08:15:30Z"),
        ("2026-03-31T10:15", "2026-03-31T08:15:00Z"),
        ("2026-03-31T08:15:30.25Z", "2026-03-31T08:15:30.25Z"),
        ("2026-03-31", "2026-03-30T22:00:00Z"),
    ] {
        assert_eq!(read(text), meant, "{text}");
    }
    assert_eq!(depot.exact(moment.told()), depot.told(moment));
    assert!(depot.moment("soon").is_err());
}

#[test]
fn no_clock_on_earth_shows_an_offset_of_a_day() {
    for offset in ["-12:00", "+14:00", "+05:45", "-00:00", "Z"] {
        let text = format!("2023-02-05T08:00{offset}");
        assert!(text.parse::<Instant>().is_ok(), "{text}");
    }
    for offset in ["+25:00", "-19:30", "+25:59", "+14:01", "-12:30"] {
        let refused = format!("2023-02-05T08:00{offset}").parse::<Instant>();
        let told = refused.expect_err(offset).to_string();
        assert!(told.contains("-12:00 to +14:00"), "{told}");
    }
}
