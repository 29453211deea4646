//! The life of a component from its making to now: all that still holds, in the order of time,
//! and the gaps between.

use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::held::Held;
use domain::ledger::fact::{Brought, Fact, Receipt};
use domain::ledger::kind::FactKind;
use domain::ledger::life::{Lacking, Line, life};
use domain::refusal::Refusal;
use domain::time::Zone;
use domain::units::{Amount, Meter};
use store::read::AsAt;
use tests::each_database;
use tests::facts::{
    certificate, component, fitted, fitted_until, held, judged, overhauled, position, read,
    receipt, relocated, removed, swapped,
};
use tests::fleet::{self, FIRST, VALVE};
use tests::register::Register;

/// The life of a component by its odometer.
async fn lines(register: &Register, of: &ComponentRef) -> Vec<Line> {
    let found = register.life(of).await;
    let mut view = register.store.view().await.unwrap();
    let entries = view.entries_of(&found.record).await.unwrap();
    let inside = found.surroundings.history.as_slice();
    let known = (&found.record, found.fitments.as_slice(), inside);
    life(
        known,
        entries,
        (&[Meter::Odometer], &found.last_read),
        &Zone::UTC,
    )
}

fn gaps(lines: &[Line]) -> Vec<&Lacking> {
    let gaps = lines.iter().filter_map(|line| match line {
        Line::Gap(gap) => Some(&gap.lacking),
        Line::Entry(_) | Line::CameOff(_) => None,
    });
    gaps.flatten().collect()
}

fn kinds(lines: &[Line]) -> Vec<FactKind> {
    let entries = lines.iter().filter_map(|line| match line {
        Line::Entry(entry) => Some(entry.fact.kind()),
        Line::CameOff(off) => Some(off.removed.kind()),
        Line::Gap(_) => None,
    });
    entries.collect()
}

async fn everything_that_still_holds_is_told_in_the_order_of_time(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let (valve, other) = (&components.valves[0], &components.valves[1]);
    register
        .record("2029-02-01T00:00Z", read("4101", 10_000))
        .await;
    register
        .record("2029-02-01T00:00Z", read("4102", 50_000))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(valve, &position("4101", FIRST)))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(other, &position("4102", FIRST)))
        .await;
    register
        .record("2029-02-20T00:00Z", read("4101", 14_000))
        .await;
    register
        .record("2029-02-20T00:00Z", read("4102", 54_000))
        .await;
    // Both sides of a swap are one entry, and part of both lives.
    let swap = register
        .record("2029-02-10T00:00Z", swapped(valve, other))
        .await;
    register.record("2029-02-20T00:00Z", removed(valve)).await;
    register
        .record("2029-03-02T00:00Z", overhauled(valve, certificate()))
        .await;
    let wrong = register
        .record("2029-03-02T00:00Z", relocated(valve, "Elsewhere"))
        .await;
    register.withdraw(wrong).await;
    register
        .record("2029-03-03T00:00Z", judged(valve, Condition::Serviceable))
        .await;
    register
        .record("2029-03-04T00:00Z", held(Held::Component(valve.clone())))
        .await;
    let told = lines(&register, valve).await;
    let expected = [
        FactKind::ComponentReceived,
        FactKind::Fitted,
        FactKind::Swapped,
        FactKind::Removed,
        FactKind::TaskDone,
        FactKind::ConditionJudged,
        FactKind::HeldAsEvidence,
    ];
    assert_eq!(kinds(&told), expected);
    assert_eq!(
        gaps(&told),
        Vec::<&Lacking>::new(),
        "new when it came, and read throughout"
    );
    let in_other = lines(&register, other).await;
    let swaps = in_other
        .iter()
        .filter(|line| matches!(line, Line::Entry(entry) if entry.seq == swap));
    assert_eq!(swaps.count(), 1);
    register.proves().await;
}

async fn what_is_not_known_is_a_gap_and_never_nought(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let old = component(VALVE, "OLD 1");
    let came = Receipt {
        manufactured_on: None,
        brought: Brought::default(),
        ..receipt(&old, "2020-01-01")
    };
    register
        .record("2029-01-02T00:00Z", Fact::ComponentReceived(came))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(&old, &position("4103", FIRST)))
        .await;
    register.record("2029-03-01T00:00Z", removed(&old)).await;
    let told = lines(&register, &old).await;
    let gaps = gaps(&told);
    assert!(
        matches!(
            gaps[..],
            [
                Lacking::Making,
                Lacking::BeforeReceipt,
                Lacking::BroughtIn(_),
                Lacking::OnCar(_, _)
            ]
        ),
        "{gaps:?}"
    );
    assert!(
        matches!(told[0], Line::Gap(_)),
        "gaps stand before what ended them"
    );
    // What came with papers that say what it ran was still somewhere else before.
    let used = component(VALVE, "USED 1");
    let came = Receipt {
        brought: Brought {
            odometer: Some(Amount::whole(300_000)),
            ..Brought::default()
        },
        ..receipt(&used, "2020-01-01")
    };
    register
        .record("2029-01-02T00:00Z", Fact::ComponentReceived(came))
        .await;
    let told = lines(&register, &used).await;
    assert_eq!(self::gaps(&told), [&Lacking::BeforeReceipt]);
    register.proves().await;
}

async fn a_fitment_told_with_both_its_ends_is_two_lines_of_a_life(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let until = "2029-03-01T00:00Z".parse().unwrap();
    let was_fitted = fitted_until(valve, &position("4101", FIRST), until);
    let told = register.record("2029-02-01T00:00Z", was_fitted).await;
    register
        .record("2029-02-10T00:00Z", read("4101", 10_000))
        .await;
    register
        .record("2029-03-02T00:00Z", overhauled(valve, certificate()))
        .await;
    let lines = lines(&register, valve).await;
    let expected = [
        FactKind::ComponentReceived,
        FactKind::Fitted,
        FactKind::Removed,
        FactKind::TaskDone,
    ];
    assert_eq!(kinds(&lines), expected);
    let off = lines.iter().find_map(|line| match line {
        Line::CameOff(off) => Some(off),
        _ => None,
    });
    let off = off.unwrap();
    assert_eq!((off.entry.seq, off.at), (told, until));
    // Of a time between its ends only the beginning is told.
    let (effective, known) = ("2029-02-15T00:00Z".parse().unwrap(), register.now);
    let as_at = AsAt { effective, known };
    let mut view = register.store.view().await.unwrap();
    let then = view.life_then(valve, as_at).await.unwrap().unwrap().life;
    let entries = view.entries_of_then(&then.record, as_at).await.unwrap();
    let inside = then.surroundings.history.as_slice();
    let of = (&then.record, then.fitments.as_slice(), inside);
    let lines = life(of, entries, (&[], &[]), &Zone::UTC);
    assert_eq!(kinds(&lines), expected[..2]);
    register.proves().await;
}

async fn one_stretch_is_one_gap_however_much_of_it_is_not_known(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let old = component(VALVE, "OLD 2");
    let came = Receipt {
        certificate: None,
        brought: Brought::default(),
        ..receipt(&old, "2020-01-01")
    };
    register
        .bring("2029-01-02T00:00Z", Fact::ComponentReceived(came))
        .await;
    let told = lines(&register, &old).await;
    let gaps = told.iter().filter(|line| matches!(line, Line::Gap(_)));
    assert_eq!(gaps.count(), 1, "{told:?}");
    assert!(
        matches!(
            self::gaps(&told)[..],
            [
                Lacking::Papers,
                Lacking::BeforeReceipt,
                Lacking::BroughtIn(_)
            ]
        ),
        "{told:?}"
    );
}

async fn a_certificate_is_kept_as_signed_and_speaks_of_its_own_part(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    let late = register
        .refuses("2029-02-28T00:00Z", overhauled(valve, certificate()))
        .await;
    assert!(
        matches!(
            late,
            Refusal::Impossible {
                field: "signed_on",
                ..
            }
        ),
        "{late}"
    );
    let mut of_other = certificate();
    of_other.left[0].task = fleet::BRAKE_TEST.parse().unwrap();
    let other = register
        .refuses("2029-03-02T00:00Z", overhauled(valve, of_other))
        .await;
    assert!(
        matches!(other, Refusal::Unknown { what: "left", .. }),
        "{other}"
    );
    let mut empty = certificate();
    " ".clone_into(&mut empty.done);
    let nothing = register
        .refuses("2029-03-02T00:00Z", overhauled(valve, empty))
        .await;
    assert!(
        matches!(nothing, Refusal::Impossible { field: "done", .. }),
        "{nothing}"
    );
    let came = Receipt {
        certificate: Some("another".to_owned()),
        release: Some(Box::new(certificate())),
        ..receipt(&component(VALVE, "C 9"), "2020-01-01")
    };
    let two = register
        .refuses("2029-03-02T00:00Z", Fact::ComponentReceived(came.clone()))
        .await;
    assert!(
        matches!(
            two,
            Refusal::Impossible {
                field: "certificate",
                ..
            }
        ),
        "{two}"
    );
    let came = Receipt {
        certificate: None,
        ..came
    };
    register
        .record("2029-03-02T00:00Z", Fact::ComponentReceived(came))
        .await;
    let record = register.life(&component(VALVE, "C 9")).await.record;
    assert_eq!(record.certificate.as_deref(), Some("C 1187"));
    register.proves().await;
}

each_database!(
    a_fitment_told_with_both_its_ends_is_two_lines_of_a_life,
    one_stretch_is_one_gap_however_much_of_it_is_not_known,
    a_certificate_is_kept_as_signed_and_speaks_of_its_own_part,
    everything_that_still_holds_is_told_in_the_order_of_time,
    what_is_not_known_is_a_gap_and_never_nought,
);
