//! A car from the side: body, bogies and axles at their distances from end 1.

use domain::configuration::car::Orientation;
use domain::configuration::car_type::CarType;

/// Where and how large a car is drawn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// Left edge of the car.
    pub(crate) left: i32,
    /// Width of the car over couplers.
    pub(crate) width: i32,
    /// Its length in millimetres.
    pub(crate) length_mm: u32,
    /// Which way it stands: forward has end 1 on the left.
    pub(crate) orientation: Orientation,
}

impl Frame {
    /// Where a distance from end 1 lies.
    pub(crate) fn x(&self, along_mm: u32) -> i32 {
        let along = i64::from(along_mm.min(self.length_mm));
        let length = i64::from(self.length_mm.max(1));
        let from_end_1 = i64::from(self.width) * along / length;
        let from_end_1 = i32::try_from(from_end_1).unwrap_or(self.width);
        match self.orientation {
            Orientation::Forward => self.left + from_end_1,
            Orientation::Reversed => self.left + self.width - from_end_1,
        }
    }

    /// How wide a length is drawn.
    pub(crate) fn span(&self, mm: u32) -> i32 {
        let length = i64::from(self.length_mm.max(1));
        i32::try_from(i64::from(self.width) * i64::from(mm) / length).unwrap_or(self.width)
    }
}

/// A bogie's frame.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct BogieBox {
    pub(crate) number: u8,
    pub(crate) x: i32,
    pub(crate) width: i32,
    pub(crate) middle: i32,
}

/// An axle's wheel.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Wheel {
    pub(crate) number: u8,
    pub(crate) x: i32,
}

/// A car from the side.
#[derive(Debug)]
pub(crate) struct Outline {
    pub(crate) left: i32,
    pub(crate) width: i32,
    pub(crate) right: i32,
    pub(crate) middle: i32,
    pub(crate) bogies: Vec<BogieBox>,
    pub(crate) wheels: Vec<Wheel>,
    /// The names of the ends, left and right.
    pub(crate) ends: [&'static str; 2],
}

/// How far a bogie's frame reaches beyond its outer axles.
const OVERHANG_MM: u32 = 500;

impl Outline {
    /// The outline of a car of a type.
    pub(crate) fn of(car_type: &CarType, frame: &Frame) -> Self {
        let wheels = car_type.axles().map(|(_, axle)| Wheel {
            number: axle.number,
            x: frame.x(axle.along_mm),
        });
        let bogies = car_type.bogies.iter().filter_map(|bogie| {
            let along = bogie.axles.iter().map(|axle| axle.along_mm);
            let first = frame.x(along.clone().min()?.saturating_sub(OVERHANG_MM));
            let last = frame.x(along.max()?.saturating_add(OVERHANG_MM));
            Some(BogieBox {
                number: bogie.number,
                x: first.min(last),
                width: (last - first).abs(),
                middle: first.midpoint(last),
            })
        });
        Self {
            left: frame.left,
            width: frame.width,
            right: frame.left + frame.width,
            middle: frame.left + frame.width / 2,
            bogies: bogies.collect(),
            wheels: wheels.collect(),
            ends: match frame.orientation {
                Orientation::Forward => ["end 1", "end 2"],
                Orientation::Reversed => ["end 2", "end 1"],
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reversed_car_is_the_mirror_image() {
        let frame = |orientation| Frame {
            left: 100,
            width: 1000,
            length_mm: 20_000,
            orientation,
        };
        assert_eq!(frame(Orientation::Forward).x(5_000), 350);
        assert_eq!(frame(Orientation::Reversed).x(5_000), 850);
        assert_eq!(frame(Orientation::Forward).x(90_000), 1100);
        assert_eq!(frame(Orientation::Forward).span(500), 25);
    }
}
