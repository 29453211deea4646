//! Where a component belongs: a position of a car, or of a component that has positions of its
//! own.

use super::component::{ComponentRef, PositionRef};
use crate::identity::{CarNumber, PositionCode};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What has positions.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Host {
    /// A car.
    Car(CarNumber),
    /// An assembly.
    Assembly(ComponentRef),
}

/// A position of a car or of an assembly.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "Body", into = "Body")]
pub struct HostPosition {
    /// The car or the assembly.
    pub host: Host,
    /// The position on its type, or on its part.
    pub position: PositionCode,
}

impl HostPosition {
    /// The same as a position of a car, if it is one.
    pub fn on_car(&self) -> Option<PositionRef> {
        match &self.host {
            Host::Car(car) => Some(PositionRef {
                car: car.clone(),
                position: self.position.clone(),
            }),
            Host::Assembly(_) => None,
        }
    }

    /// The assembly, if it is a position of one.
    pub fn assembly(&self) -> Option<&ComponentRef> {
        match &self.host {
            Host::Car(_) => None,
            Host::Assembly(assembly) => Some(assembly),
        }
    }
}

impl From<PositionRef> for HostPosition {
    fn from(PositionRef { car, position }: PositionRef) -> Self {
        Self {
            host: Host::Car(car),
            position,
        }
    }
}

impl From<PositionRef> for Box<HostPosition> {
    fn from(at: PositionRef) -> Self {
        Box::new(at.into())
    }
}

impl fmt::Display for HostPosition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.host {
            Host::Car(car) => write!(f, "{} of car {car}", self.position),
            Host::Assembly(assembly) => write!(f, "{} of {assembly}", self.position),
        }
    }
}

/// The shape in the ledger: `car` or `host`, and `position`.
#[derive(Serialize, Deserialize)]
struct Body {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    car: Option<CarNumber>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    host: Option<ComponentRef>,
    position: PositionCode,
}

impl TryFrom<Body> for HostPosition {
    type Error = &'static str;
    fn try_from(body: Body) -> Result<Self, Self::Error> {
        let host = match (body.car, body.host) {
            (Some(car), None) => Host::Car(car),
            (None, Some(assembly)) => Host::Assembly(assembly),
            _ => return Err("a position belongs to a car or to a host: give one of the two"),
        };
        let position = body.position;
        Ok(Self { host, position })
    }
}

impl From<HostPosition> for Body {
    fn from(HostPosition { host, position }: HostPosition) -> Self {
        let (car, host) = match host {
            Host::Car(car) => (Some(car), None),
            Host::Assembly(assembly) => (None, Some(assembly)),
        };
        Self {
            car,
            host,
            position,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::ledger::fact::Fitting;

    const ON_CAR: &str =
        r#"{"component":{"part":"DV-210","serial":"1"},"car":"4101","position":"=BS-K1"}"#;

    #[test]
    fn a_fitting_to_a_car_keeps_the_shape_that_old_entries_have() {
        let fitting: Fitting = serde_json::from_str(ON_CAR).unwrap();
        assert_eq!(fitting.at.to_string(), "=BS-K1 of car 4101");
        assert_eq!(serde_json::to_string(&fitting).unwrap(), ON_CAR);
    }

    #[test]
    fn a_fitting_names_a_car_or_an_assembly_and_not_both() {
        let host = r#""host":{"part":"BP-1","serial":"7"},"position""#;
        let inside = ON_CAR.replace(r#""car":"4101","position""#, host);
        let fitting: Fitting = serde_json::from_str(&inside).unwrap();
        assert_eq!(fitting.at.to_string(), "=BS-K1 of BP-1 serial 7");
        assert_eq!(serde_json::to_string(&fitting).unwrap(), inside);
        let both = ON_CAR.replace(r#""position""#, host);
        let neither = ON_CAR.replace(r#""car":"4101","#, "");
        for wrong in [both, neither] {
            let why = serde_json::from_str::<Fitting>(&wrong).unwrap_err();
            assert!(why.to_string().contains("give one of the two"), "{why}");
        }
    }
}
