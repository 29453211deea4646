//! Where a test must measure to show that the brake behind a cut-out is restored. What the position
//! leads to shows it; of what is no cock, and has no point of measurement behind it, the nearest
//! points before it do, since they see whether it leaks or lets pass. A point before a closed cock
//! tells nothing of what lies behind it.

use crate::circuit::{Behaviour, Circuit};
use crate::configuration::car_type::{CarType, PositionKind};
use crate::identity::PositionCode;
use std::collections::{BTreeMap, BTreeSet};

/// The positions of a car type at which a brake behind a position is measured, the points of
/// measurement first. None where its circuit knows of no brake behind it: nothing is demanded then.
/// Near linear in the lines of the circuit.
pub fn measured_behind<'t>(
    car_type: &'t CarType,
    at: &'t PositionCode,
) -> Option<Vec<&'t PositionCode>> {
    let piped = Piped::of(&car_type.circuit);
    let behaviour = piped.behaviours.get(at)?;
    let is_point = |code: &&PositionCode| {
        let kind = car_type.position(code).map(|position| position.kind);
        kind.is_some_and(measures)
    };
    let behind = reached(&[at], &piped.leads_to);
    let brakes = |code: &&PositionCode| {
        let behaviour = piped.behaviours.get(*code);
        behaviour.is_some_and(|behaviour| behaviour.is_actuator())
    };
    if !behind.iter().any(brakes) {
        return None;
    }
    let mut found = behind;
    let is_cock = matches!(behaviour, Behaviour::Cock { .. });
    if !is_cock && !found.iter().any(is_point) {
        found.extend(piped.nearest_before(at, is_point));
    }
    let (mut points, others): (Vec<_>, Vec<_>) = found.into_iter().partition(is_point);
    points.extend(others);
    Some(points)
}

/// Whether pressure is read there.
const fn measures(kind: PositionKind) -> bool {
    matches!(
        kind,
        PositionKind::TestPoint
            | PositionKind::Gauge
            | PositionKind::PressureSensor
            | PositionKind::PressureSwitch
    )
}

type Lines<'t> = BTreeMap<&'t PositionCode, Vec<&'t PositionCode>>;

/// A circuit by what leads where within the car.
struct Piped<'t> {
    behaviours: BTreeMap<&'t PositionCode, &'t Behaviour>,
    leads_to: Lines<'t>,
    comes_from: Lines<'t>,
}

impl<'t> Piped<'t> {
    fn of(circuit: &'t Circuit) -> Self {
        let nodes = circuit.nodes.iter();
        let mut piped = Self {
            behaviours: nodes
                .map(|node| (&node.position, &node.behaviour))
                .collect(),
            leads_to: BTreeMap::new(),
            comes_from: BTreeMap::new(),
        };
        for line in &circuit.lines {
            if let (Some(from), Some(to)) = (line.from.position(), line.to.position()) {
                piped.leads_to.entry(from).or_default().push(to);
                piped.comes_from.entry(to).or_default().push(from);
            }
        }
        piped
    }

    /// The points of measurement that hang nearest before a position, on each way to it.
    fn nearest_before(
        &self,
        at: &'t PositionCode,
        is_point: impl Fn(&&'t PositionCode) -> bool,
    ) -> BTreeSet<&'t PositionCode> {
        let (mut found, mut seen) = (BTreeSet::new(), BTreeSet::from([at]));
        let mut open = vec![at];
        while let Some(here) = open.pop() {
            for before in self.comes_from.get(here).into_iter().flatten().copied() {
                if !seen.insert(before) {
                    continue;
                }
                let hangs = self.leads_to.get(before).into_iter().flatten().copied();
                let points: Vec<&PositionCode> = hangs.filter(&is_point).collect();
                if points.is_empty() {
                    open.push(before);
                }
                found.extend(points);
            }
        }
        found
    }
}

/// Everything that positions lead to, themselves included.
fn reached<'t>(from: &[&'t PositionCode], lines: &Lines<'t>) -> BTreeSet<&'t PositionCode> {
    let mut reached: BTreeSet<&PositionCode> = from.iter().copied().collect();
    let mut open = from.to_vec();
    while let Some(here) = open.pop() {
        for next in lines.get(here).into_iter().flatten().copied() {
            if reached.insert(next) {
                open.push(next);
            }
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{Line, Medium, Node, Place};
    use serde_json::json;

    const COCK: Behaviour = Behaviour::Cock { venting: true };

    /// A supply, a relay valve with a test point, two cocks behind it, one with a test point, a hose
    /// and a caliper, the other with a caliper alone; a cock to something that does not brake.
    fn car_type() -> CarType {
        let positions = [
            (
                "=BS-G1",
                "reservoir",
                Behaviour::Reservoir { volume_l: 100 },
            ),
            ("=BS-K1", "relay_valve", Behaviour::Pass),
            ("=BS-X1", "test_point", Behaviour::Pass),
            ("=BS-Q1", "isolating_cock", COCK),
            ("=BS-X2", "test_point", Behaviour::Pass),
            ("=BS-W1", "hose", Behaviour::Pass),
            ("=BS-C1", "caliper", Behaviour::AirApplied),
            ("=BS-Q2", "isolating_cock", COCK),
            ("=BS-C2", "caliper", Behaviour::AirApplied),
            ("=AS-Q1", "isolating_cock", COCK),
        ];
        let lines = [
            ("=BS-G1", "=BS-K1"),
            ("=BS-K1", "=BS-X1"),
            ("=BS-K1", "=BS-Q1"),
            ("=BS-Q1", "=BS-X2"),
            ("=BS-Q1", "=BS-W1"),
            ("=BS-W1", "=BS-C1"),
            ("=BS-K1", "=BS-Q2"),
            ("=BS-Q2", "=BS-C2"),
            ("=BS-G1", "=AS-Q1"),
        ];
        let described = positions.iter().map(|(code, kind, _)| {
            json!({"code": code, "title": "t", "kind": kind, "along_mm": 1, "approved": []})
        });
        let described: Vec<serde_json::Value> = described.collect();
        let mut car_type: CarType = serde_json::from_value(json!({
            "name": "A", "revision": "1", "fleet": "F", "title": "t", "vehicle_kind": "car",
            "length_mm": 20_000, "speed_max_km_h": 100, "daily_km_max": 500, "bogies": [],
            "masses": [], "positions": described,
            "circuit": {"nodes": [], "lines": []}, "braked_weights": [],
        }))
        .expect("a car type");
        let code = |text: &str| -> PositionCode { text.parse().expect("a code") };
        let nodes = positions.into_iter().map(|(at, _, behaviour)| Node {
            position: code(at),
            behaviour,
        });
        car_type.circuit.nodes = nodes.collect();
        let lines = lines.map(|(from, to)| Line {
            from: Place::Position(code(from)),
            to: Place::Position(code(to)),
            input: "in".to_owned(),
            medium: Medium::MainAir,
            modes: Vec::new(),
        });
        car_type.circuit.lines = lines.into();
        car_type
    }

    /// Where a brake behind it is measured; nowhere where none is known.
    fn behind(at: &str) -> Vec<String> {
        let (car_type, at) = (car_type(), at.parse().expect("a code"));
        let found = measured_behind(&car_type, &at).unwrap_or_default();
        found.into_iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_brake_behind_a_cock_is_measured_behind_it_only() {
        let all = ["=BS-X2", "=BS-C1", "=BS-Q1", "=BS-W1"];
        assert_eq!(behind("=BS-Q1"), all);
        assert_eq!(behind("=BS-Q2"), ["=BS-C2", "=BS-Q2"]);
    }

    #[test]
    fn what_has_no_point_behind_it_is_measured_at_the_nearest_before() {
        assert_eq!(behind("=BS-W1"), ["=BS-X2", "=BS-C1", "=BS-W1"]);
        assert_eq!(behind("=BS-C1"), ["=BS-X2", "=BS-C1"]);
        assert_eq!(behind("=BS-C2"), ["=BS-X1", "=BS-C2"]);
    }

    #[test]
    fn nothing_is_demanded_where_no_brake_is_known_behind_it() {
        assert_eq!(behind("=AS-Q1"), [""; 0]);
        assert_eq!(behind("=ZZ-Q9"), [""; 0]);
    }
}
