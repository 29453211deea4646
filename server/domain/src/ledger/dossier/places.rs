//! Places by design: which positions there are inside what is approved at a position, and what
//! the full code of a place on a car means.

use super::Documents;
use crate::configuration::car_type::{CarType, Position};
use crate::configuration::part::{InnerPosition, Part, Vacancy};
use crate::identity::{CarTypeName, PartNumber, PositionCode};
use std::collections::{BTreeSet, VecDeque};

/// A place on cars of a type: a position of the car, or one inside an assembly on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlaceOnCar {
    /// The place by its full code. Inside an assembly, what may be fitted is as its part says,
    /// and the rest as the car type says of the place or else of the assembly.
    pub position: Position,
    /// The place of the assembly, by its full code, and the code within it.
    pub inside: Option<(PositionCode, PositionCode)>,
}

/// A position inside an assembly, found by design.
pub(crate) struct Inner<'a> {
    /// The place of the assembly, by its full code.
    pub(crate) assembly: PositionCode,
    /// The position within it.
    pub(crate) position: &'a InnerPosition,
}

impl Documents {
    /// A part in the catalogue.
    pub fn part(&self, number: &PartNumber) -> Option<&Part> {
        self.parts.get(number).map(|known| &*known.document)
    }

    /// The place of that full code on cars of a type. Linear in the positions of the type and of
    /// the parts approved at the one whose code it begins with.
    pub fn place(&self, car_type: &CarType, code: &PositionCode) -> Option<PlaceOnCar> {
        let listed = car_type.position(code);
        let mut hosts = car_type.positions.iter();
        let inner = hosts.find_map(|host| {
            let rest = code.after(&host.code)?;
            let meanings = self.meanings(&host.approved, &host.code, &rest);
            Some((host, meanings.into_iter().flatten().next()?))
        });
        let Some((host, Inner { assembly, position })) = inner else {
            let position = listed?.clone();
            return Some(PlaceOnCar {
                position,
                inside: None,
            });
        };
        let of_host = Position {
            code: code.clone(),
            title: position.title.clone(),
            kind: position.kind,
            aliases: Vec::new(),
            settings: Vec::new(),
            ..host.clone()
        };
        Some(PlaceOnCar {
            position: Position {
                approved: position.approved.clone(),
                ..listed.cloned().unwrap_or(of_host)
            },
            inside: Some((assembly, position.code.clone())),
        })
    }

    /// The places on cars of a type, in any of its revisions, where by what is approved there an
    /// assembly may stand that does not go on a car without what is inside it. Linear in the
    /// positions of the revisions and what is approved inside them.
    pub fn needy_places(&self, car_type: &CarTypeName) -> BTreeSet<PositionCode> {
        let revisions = self.car_types.iter();
        let revisions = revisions.filter(|((name, _), _)| name == car_type);
        let positions = revisions.flat_map(|(_, design)| &design.document.positions);
        let mut next: VecDeque<(PositionCode, &[PartNumber])> = positions
            .map(|position| (position.code.clone(), &*position.approved))
            .collect();
        let (mut needy, mut seen) = (BTreeSet::new(), BTreeSet::new());
        while let Some((at, approved)) = next.pop_front() {
            for part in approved.iter().filter_map(|number| self.part(number)) {
                if part.positions.is_empty() || !seen.insert((&part.number, at.clone())) {
                    continue;
                }
                let mut inner = part.positions.iter();
                if inner.any(|inner| inner.vacancy == Vacancy::Forbidden) {
                    needy.insert(at.clone());
                }
                let inner = part.positions.iter().filter_map(|inner| {
                    let place = at.followed_by(&inner.code)?;
                    Some((place, &*inner.approved))
                });
                next.extend(inner);
            }
        }
        needy
    }

    /// What a code means in each of the parts approved at a place, and in the parts approved
    /// inside them: a position of an assembly, or none where it leads nowhere. Each part is looked
    /// at once for each rest of the code.
    pub(crate) fn meanings<'a>(
        &'a self,
        approved: &'a [PartNumber],
        at: &PositionCode,
        code: &PositionCode,
    ) -> Vec<Option<Inner<'a>>> {
        let (mut found, mut seen) = (Vec::new(), BTreeSet::new());
        let mut next = VecDeque::from([(approved, at.clone(), code.clone())]);
        while let Some((approved, at, code)) = next.pop_front() {
            if approved.is_empty() {
                found.push(None);
            }
            for part in approved.iter().filter_map(|number| self.part(number)) {
                if !seen.insert((&part.number, code.clone())) {
                    continue;
                }
                match part.position(&code) {
                    Some(position) => found.push(Some(Inner {
                        assembly: at.clone(),
                        position,
                    })),
                    None => match deeper(part, &at, &code) {
                        Some(inner) => next.push_back(inner),
                        None => found.push(None),
                    },
                }
            }
        }
        found
    }
}

/// The parts approved at the position of a part that a code begins with, the place of that
/// position, and the rest of the code.
fn deeper<'a>(
    part: &'a Part,
    at: &PositionCode,
    code: &PositionCode,
) -> Option<(&'a [PartNumber], PositionCode, PositionCode)> {
    part.positions.iter().find_map(|position| {
        let rest = code.after(&position.code)?;
        Some((&*position.approved, at.followed_by(&position.code)?, rest))
    })
}
