//! Procedures that a generated fleet is tested by.

use super::design::Design;
use domain::configuration::car_type::CarType;
use domain::due::task::AppliesTo;
use domain::identity::PositionCode;
use domain::isolation::observed::During;
use domain::test_record::procedure::{Bounds, Measurand, MeasurandRole, Procedure};

impl Design {
    /// The same design with a procedure for every car type: an invented one where it has none.
    pub(super) fn with_procedures(&self) -> Design {
        let mut design = self.clone();
        for car_type in &self.car_types {
            let applies_to = AppliesTo::CarType(car_type.name.clone());
            if design.procedures.iter().all(|p| p.applies_to != applies_to) {
                design.procedures.extend(invented(car_type, applies_to));
            }
        }
        design
    }
}

fn invented(car_type: &CarType, applies_to: AppliesTo) -> Option<Procedure> {
    let result = MeasurandRole::Result;
    let nodes = car_type.circuit.nodes.iter();
    let brakes = nodes.filter(|node| node.behaviour.is_actuator());
    let measured_at: Vec<PositionCode> = brakes.map(|node| node.position.clone()).collect();
    let cylinders = measurand(
        "cylinder pressure, full braking",
        result,
        ("bar", "3.6", "4"),
    )?;
    let measurands: Vec<Measurand> = [
        Some(Measurand {
            during: (!measured_at.is_empty()).then_some(During::Service),
            measured_at,
            ..cylinders
        }),
        measurand(
            "leakage of the main reservoir pipe",
            result,
            ("bar/min", "", "0.2"),
        ),
        measurand(
            "main reservoir pressure",
            MeasurandRole::Condition,
            ("bar", "7.5", ""),
        ),
    ]
    .into_iter()
    .collect::<Option<_>>()?;
    Some(Procedure {
        code: format!("TEST {}", car_type.name).parse().ok()?,
        revision: "A".parse().ok()?,
        title: format!("brake test of a car of type {}", car_type.name),
        applies_to,
        measurands: measurands.try_into().ok()?,
        task: None,
        source: "invented for the demo".to_owned(),
    })
}

fn measurand(
    name: &str,
    role: MeasurandRole,
    (unit, lower, upper): (&str, &str, &str),
) -> Option<Measurand> {
    Some(Measurand {
        name: name.parse().ok()?,
        load: None,
        role,
        unit: unit.to_owned(),
        bounds: Bounds::new(lower.parse().ok(), upper.parse().ok()).ok()?,
        measured_at: Vec::new(),
        during: None,
    })
}
