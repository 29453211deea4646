//! What must be known beside the verdicts, with where more of it stands.

use crate::address;
use crate::as_at::AsAtQuery;
use domain::decision::Decision;
use domain::decision::warning::Warning;
use domain::identity::CarNumber;

/// One thing to know beside the verdicts.
pub(crate) struct WarningRow {
    /// The class by which it is drawn.
    pub(crate) class: &'static str,
    pub(crate) text: String,
    /// The due lists of the cars that it speaks of: car and address.
    pub(crate) due_lists: Vec<(CarNumber, String)>,
}

impl WarningRow {
    /// All there is to know, the gravest first, as at the times that the page speaks of.
    pub(crate) fn all(decision: &Decision, times: &AsAtQuery) -> Vec<Self> {
        let due_lists = |warning: &Warning| {
            let told = decision.overdue.iter();
            let told = told.filter(|_| warning.kind.is_of_overdue_work());
            let link = |car: &CarNumber| (car.clone(), address::overdue_on(car, times));
            told.map(|one| link(&one.car_number)).collect()
        };
        let warnings = decision.warnings().into_iter();
        let rows = warnings.map(|warning| Self {
            class: warning.kind.name(),
            due_lists: due_lists(&warning),
            text: warning.text,
        });
        rows.collect()
    }
}
