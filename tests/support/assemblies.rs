//! Assemblies for the small fleet: control panels with valves in them, and a frame that carries a
//! panel. Its cars have a place for either in revision C of their type.

use domain::configuration::car_type::PositionKind;
use domain::configuration::component::ComponentRef;
use domain::configuration::part::{InnerPosition, Part, Vacancy};
use domain::ledger::fact::Fact;

use crate::facts::{car, component, receipt};
use crate::fleet::{self, DEPOT, RELAY_VALVE, VALVE};
use crate::register::Register;

/// A control panel with places for a distributor valve and a relay valve.
pub const PANEL: &str = "BP-20";
/// A frame with a place for a panel, and for a distributor valve that must be filled.
pub const FRAME: &str = "BF-30";
/// The position of a panel or a frame on a car.
pub const PANEL_PLACE: &str = "=BS-P1";
/// The distributor valve inside a panel.
pub const INNER_VALVE: &str = "-K1";
/// The relay valve inside a panel.
pub const INNER_RELAY: &str = "-K2";
/// The panel inside a frame.
pub const INNER_PANEL: &str = "-P1";
/// The revision in which the cars have a place for a panel.
pub const REVISION: &str = "C";

/// What has to be known: the fleet's own design, with its cars in [`REVISION`].
pub fn design() -> Vec<Fact> {
    let another = fleet::place(PANEL_PLACE, PositionKind::ControlPanel, &[PANEL, FRAME]);
    let mut before_cars = vec![
        panel(PANEL),
        frame(Vacancy::Finding),
        fleet::car_type_with(REVISION, &[VALVE], [another]),
    ];
    let mut facts = Vec::new();
    for fact in fleet::design() {
        if let Fact::CarRegistered(known) = &fact {
            facts.append(&mut before_cars);
            facts.push(car(known.number.as_str(), REVISION, DEPOT));
        } else {
            facts.push(fact);
        }
    }
    facts
}

/// A part like [`PANEL`].
pub fn panel(number: &str) -> Fact {
    let vacancy = Vacancy::Finding;
    assembly(
        number,
        vec![
            inner(
                INNER_VALVE,
                PositionKind::DistributorValve,
                &[VALVE],
                vacancy,
            ),
            inner(
                INNER_RELAY,
                PositionKind::RelayValve,
                &[RELAY_VALVE],
                vacancy,
            ),
        ],
    )
}

/// The frame's part; its panel may be vacant on a car or not.
pub fn frame(vacancy: Vacancy) -> Fact {
    let panel = inner(INNER_PANEL, PositionKind::ControlPanel, &[PANEL], vacancy);
    assembly(FRAME, vec![panel])
}

/// A part with positions of its own.
pub fn assembly(number: &str, positions: Vec<InnerPosition>) -> Fact {
    Fact::PartDefined(Part {
        number: number.parse().expect("a part number"),
        title: "invented for the tests".to_owned(),
        kind: PositionKind::ControlPanel,
        positions,
        modification_states: Vec::new(),
        replaces: Vec::new(),
    })
}

/// A position inside a part.
pub fn inner(code: &str, kind: PositionKind, approved: &[&str], vacancy: Vacancy) -> InnerPosition {
    let approved = approved
        .iter()
        .map(|part| part.parse().expect("a part number"));
    InnerPosition {
        code: code.parse().expect("a position code"),
        title: kind.to_string(),
        kind,
        approved: approved.collect(),
        states: Vec::new(),
        vacancy,
    }
}

/// Two panels and a frame, by name only.
pub fn components() -> [ComponentRef; 3] {
    [
        component(PANEL, "1"),
        component(PANEL, "2"),
        component(FRAME, "1"),
    ]
}

/// Their receipts, all made on 2020-01-01.
pub fn receipts() -> impl Iterator<Item = Fact> {
    components()
        .into_iter()
        .map(|one| Fact::ComponentReceived(receipt(&one, "2020-01-01")))
}

/// Records the whole fleet with its assemblies as at a time.
pub async fn found(register: &mut Register, since: &str) -> fleet::Components {
    let components = fleet::components();
    let received = fleet::receipts(&components).into_iter().chain(receipts());
    for fact in design().into_iter().chain(received) {
        register.bring(since, fact).await;
    }
    components
}
