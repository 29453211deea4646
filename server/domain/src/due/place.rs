//! Where due work is: what is on a car falls due while it runs, what is not waits for its next use.

use crate::words::word_list;

word_list! {
    /// Whether the work is on a car.
    WorkPlace, "place" {
        /// On a car: on the car as a whole, or on what is fitted to it.
        OnCars = "on_cars",
        /// On what is on no car: in a store, a workshop, with a contractor or in transit.
        OffCars = "off_cars",
    }
}

impl WorkPlace {
    /// As people say it.
    pub fn words(self) -> &'static str {
        match self {
            Self::OnCars => "on cars",
            Self::OffCars => "in stores and workshops",
        }
    }
}
