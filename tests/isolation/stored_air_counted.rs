//! For how long stored air counts as brake, of the constructed unit of `stored_air_left`: main air of
//! 8.5 bar and cylinders filled to 3.8 bar. A reservoir that loses 0.2 bar a minute (common practice,
//! no source) is at 4.1, which is 0.3 above the cylinders, after (8.5 − 4.1) / 0.2 = 22 minutes; the
//! margin is that of Regulation (EU) 321/2013, appendix C.9(f).

use super::said_and_checked::{self, UNIT};
use super::stored_air_left::question;
use domain::circuit::Mode;
use domain::decision::seen_free::Recorded;
use domain::decision::warning::WarningKind;
use domain::decision::{
    CutOutInTrain, Decision, NotCounted, PressureRead, Question, Since, Spent, Supposed, decide,
};
use domain::isolation::CutOutState::{self, Failed, SupplyCut};
use domain::isolation::Supply;
use domain::ledger::entry::Seq;
use domain::time::Instant;
use tests::car_type_text::read;

const MADE: &str = "2026-11-25T10:00:00Z";
const SHUT: (usize, &str, CutOutState) = (2, "=S-Q1", SupplyCut);

fn minutes_later(minutes: i64) -> Instant {
    let made: Instant = read(MADE);
    Instant::from_microseconds(made.microseconds() + minutes * 60_000_000).unwrap()
}

/// Asked so many minutes after the first was made; each cut-out of the question stands since so
/// many, in the order of the train.
fn decided(mut question: Question, since: &[i64], minutes: i64) -> Decision {
    let cut_outs = question.cars.iter_mut().flat_map(|car| &mut car.cut_outs);
    for (cut_out, since) in cut_outs.zip(since) {
        cut_out.since = Some(Since {
            at: minutes_later(*since),
            not_before: None,
        });
    }
    question.way.at = Some(minutes_later(minutes));
    decide(&question, &[]).unwrap()
}

/// The braked weights left, now and once stored air is used up.
fn left(decision: &Decision) -> [i64; 2] {
    [&decision.percentage, &decision.percentage_later]
        .map(|found| found.as_ref().unwrap().value.after.braked_weight().0)
}

fn warned(decision: &Decision, kind: WarningKind) -> Option<String> {
    let mut warnings = decision.warnings().into_iter();
    let found = warnings.find(|warning| warning.kind == kind)?;
    Some(found.text)
}

#[test]
fn air_counts_for_as_long_as_it_lasts_and_then_as_used_up() {
    let shut = || question(&[SHUT], |_| ());
    let lasts = decided(shut(), &[0], 21);
    let [now, later] = left(&lasts);
    assert!(later < now, "{later}, {now}");
    assert_eq!(lasts.spent, []);
    assert_eq!(lasts.counted_until, Some(minutes_later(22)));
    assert!(warned(&lasts, WarningKind::Fades).is_some());
    let spent = decided(shut(), &[0], 22);
    assert_eq!(left(&spent), [later, later]);
    assert_eq!(spent.counted_until, None);
    assert_eq!(warned(&spent, WarningKind::Fades), None);
    assert!(spent.stopping_later.is_empty());
    // Both modes, with what is lost and why, as once air is used up.
    let operative = |decision: &Decision, mode: Mode, supply: Supply| {
        let mut effects = decision.effects.iter().map(|one| &one.effect);
        let found = effects.find(|one| (one.mode, one.supply) == (mode, supply));
        found.unwrap().counts.axles.operative
    };
    for mode in [Mode::Service, Mode::Emergency] {
        assert_eq!(operative(&lasts, mode, Supply::Now), 12);
        assert_eq!(operative(&spent, mode, Supply::Now), 8);
    }
}

#[test]
fn what_is_not_counted_is_told_with_its_numbers_and_is_still_to_be_drained() {
    let spent = decided(question(&[SHUT], |_| ()), &[0], 22);
    let steps = &spent.percentage.as_ref().unwrap().steps;
    let mut steps = steps
        .iter()
        .filter(|step| step.what.starts_with("stored air"));
    let step = steps.next().unwrap();
    assert_eq!(step.what, "stored air, car 3 =S-R1");
    assert_eq!(
        step.working,
        "not counted: cut out since 2026-11-25 10:00 +00:00; nobody has told its pressure; taken to \
         leak: (8.50 bar − 4.10 bar) / 0.2 bar/min = 22.0 min"
    );
    assert_eq!(step.source.to_string(), "common practice, no source");
    assert_eq!(
        warned(&spent, WarningKind::AirNotCounted).unwrap(),
        "Stored air is not counted (cut out since 2026-11-25 10:00 +00:00; nobody has told its \
         pressure): car 3 =S-R1."
    );
    let act = &spent.instructions[0].act;
    assert!(act.contains("=S-R1") && act.contains("=S-Q2"), "{act}");
    // The brakes had released before: none drags.
    assert_eq!(warned(&spent, WarningKind::Drags), None);
}

#[test]
fn how_long_air_lasts_that_is_not_known_is_no_time() {
    let unknown = question(&[SHUT], |of| of.forces.main_air_least_mbar = None);
    let spent = decided(unknown, &[0], 0);
    assert_eq!(spent.spent.len(), 1);
    let because = &spent.spent[0].because;
    assert!(
        because.ends_with("from which pressure to which it would count is not known"),
        "{because}"
    );
}

/// Who found it shut saw it open half an hour before: it may be shut since then.
#[test]
fn what_nobody_saw_made_counts_from_when_it_was_last_seen_right() {
    let mut found = question(&[SHUT], |_| ());
    found.cars[2].cut_outs[0].since = Some(Since {
        at: minutes_later(30),
        not_before: Some(minutes_later(0)),
    });
    found.way.at = Some(minutes_later(31));
    let decision = decide(&found, &[]).unwrap();
    assert_eq!(decision.spent.len(), 1);
    assert_eq!(decision.spent[0].since, Some(minutes_later(0)));
}

#[test]
fn what_is_supposed_counts_as_just_closed() {
    let mut supposed = question(&[], |_| ());
    supposed.supposed = vec![read::<Supposed>("3:=S-Q1:supply_cut")];
    let decision = decided(supposed, &[], 600);
    assert_eq!(
        (&decision.spent[..], decision.counted_until),
        (&[][..], None)
    );
    let [now, later] = left(&decision);
    assert!(later < now, "{later}, {now}");
}

/// A reservoir is unfed since the first of two cocks in its way was shut, and since the last of two
/// compressors stands.
#[test]
fn two_cut_outs_count_by_when_they_kept_air_away_together() {
    for since in [[50, 0], [0, 50]] {
        let in_its_way = question(&[(1, "=M-Q2", SupplyCut), SHUT], |_| ());
        let found = decided(in_its_way, &since, 60);
        let mut spent = found.spent.iter();
        let of_brakes = spent.find(|one| one.at.position.as_str() == "=S-R1");
        assert_eq!(of_brakes.unwrap().since, Some(minutes_later(0)));
    }
    let mut compressors = question(&[(1, "=M-G1", Failed)], |_| ());
    let mut other = compressors.cars[1].clone();
    other.number = read("4");
    compressors.cars.insert(2, other);
    let lasts = decided(compressors, &[0, 50], 60);
    assert_eq!(lasts.spent, []);
    assert_eq!(lasts.counted_until, Some(minutes_later(72)));
}

/// Whoever confirms that a pressure was read has told it, and not what it was: the air counts no longer
/// by that, and nobody is told that nothing is known of it.
#[test]
fn a_pressure_that_was_read_is_told_with_who_read_it() {
    let mut read_since = question(&[SHUT], |_| ());
    read_since.cars[2].cut_outs[0].recorded = Some(Recorded {
        by: Seq(7),
        pads_free: None,
        pressure_read: Some(PressureRead {
            at: minutes_later(5),
            by: read("A. Fitter"),
        }),
    });
    let spent = decided(read_since, &[0], 22);
    let says = warned(&spent, WarningKind::AirNotCounted).unwrap();
    assert_eq!(
        says,
        "Stored air is not counted (cut out since 2026-11-25 10:00 +00:00; its pressure was read by \
         A. Fitter on 2026-11-25 10:05 +00:00, and what it was is not kept): car 3 =S-R1."
    );
    assert!(spent.spent[0].because.contains("read by A. Fitter"));
    assert!(spent.spent[0].in_short().contains("read by A. Fitter"));
}

/// The state says so, though the cock of the invented fleet does not vent and a check valve keeps the
/// air of the reservoir behind it (common practice, no source). Whoever works there is told of it.
#[test]
fn what_is_told_as_emptied_counts_as_empty_at_once_and_is_told_all_the_same() {
    let closed = |state: &str| {
        let supposed = format!("1:=BS-QM1:{state}");
        said_and_checked::question(UNIT, &[&supposed])
    };
    let charged = decide(&closed("supply_cut"), &[]).unwrap();
    let [now, later] = left(&charged);
    assert!(later < now, "{later}, {now}");
    let question = closed("closed_vented");
    let emptied = decide(&question, &[]).unwrap();
    assert_eq!(left(&emptied), [later, later]);
    assert_eq!(emptied.counted_until, None);
    let [Spent { at, since, why, .. }] = emptied.spent.as_slice() else {
        panic!("{:?}", emptied.spent);
    };
    assert_eq!(at.to_string(), "=BS-CM1 of car 1");
    assert_eq!((*since, why), (None, &NotCounted::ToldEmptied));
    assert_eq!(
        warned(&emptied, WarningKind::AirNotCounted).unwrap(),
        "Stored air is not counted (what lies behind the closed cock is told as emptied): car 1 \
         =BS-CM1."
    );
    let stored = question.stored_air().unwrap();
    assert_eq!(stored.len(), 1);
    assert_eq!(stored[0].at.position.as_str(), "=BS-CM1");
    // A reservoir that was drained itself is in no list any more.
    let drained = ["1:=BS-QM1:supply_cut", "1:=BS-CM1:closed_vented"];
    let drained = said_and_checked::question(UNIT, &drained);
    assert_eq!(drained.stored_air().unwrap().len(), 0);
    assert_eq!(left(&decide(&drained, &[]).unwrap()), [later, later]);
}

/// A filter is missing before the check valve: where nobody knows since when, the air counts for no time
/// (missing data gives no answer rather than a guess).
#[test]
fn a_reservoir_that_is_unfed_by_a_missing_part_does_not_count() {
    let mut lacking = said_and_checked::question(UNIT, &[]);
    lacking.cars[0].vacant.push(read("=BS-HQ1"));
    let fills = decide(&lacking, &[]).unwrap();
    let [now, later] = left(&fills);
    assert!(later < now, "at no time: {later}, {now}");
    lacking.way.at = Some(minutes_later(0));
    let unfed = decide(&lacking, &[]).unwrap();
    assert_eq!(left(&unfed), [later, later]);
    assert_eq!(unfed.spent.len(), 1, "{:?}", unfed.spent);
    assert_eq!(unfed.spent[0].why, NotCounted::PartMissing);
    assert_eq!(unfed.counted_until, None);
    // Once it is known when it came off, the air counts for as long as it lasts from then on.
    let mut taken_out = lacking.clone();
    taken_out.cars[0].vacated = [(read("=BS-HQ1"), minutes_later(0))].into();
    let lasts = decide(&taken_out, &[]).unwrap();
    assert_eq!((left(&lasts), &lasts.spent[..]), ([now, later], &[][..]));
    let until = lasts.counted_until.unwrap();
    taken_out.way.at = Some(until);
    let gone = decide(&taken_out, &[]).unwrap();
    assert_eq!(left(&gone), [later, later]);
    // What worked until then has released by itself, in every effect and warning alike.
    for told in [&lasts, &gone] {
        let effects = told.effects.iter().map(|one| &one.effect);
        let mut actuators = effects.flat_map(|effect| &effect.actuators);
        assert!(!actuators.any(|one| one.may_drag));
        assert_eq!(warned(told, WarningKind::Drags), None);
        assert_eq!(warned(told, WarningKind::DragsLater), None);
    }
    let [Spent { since, why, .. }] = gone.spent.as_slice() else {
        panic!("{:?}", gone.spent);
    };
    assert_eq!(
        (*since, why),
        (Some(minutes_later(0)), &NotCounted::PartTakenOut)
    );
    taken_out.way.at = Some(minutes_later(24 * 60));
    let long_ago = decide(&taken_out, &[]).unwrap();
    assert_eq!(long_ago.spent[0].why, NotCounted::PartMissing);
    // Beside it a cut-out of another car counts by its own time.
    let mut both = lacking.clone();
    both.cars[2].cut_outs.push(CutOutInTrain {
        position: read("=BS-QM1"),
        state: SupplyCut,
        since: Some(Since {
            at: minutes_later(0),
            not_before: None,
        }),
        recorded: None,
    });
    let both = decide(&both, &[]).unwrap();
    assert_eq!(both.spent, unfed.spent);
    assert!(both.counted_until.is_some());
}
