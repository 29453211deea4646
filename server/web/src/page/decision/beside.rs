//! What must be known beside the verdicts, with where more of it stands.

use crate::address;
use crate::as_at::AsAtQuery;
use domain::decision::Decision;
use domain::decision::warning::{Warning, WarningKind};
use domain::identity::CarNumber;
use std::collections::BTreeSet;

/// One thing to know beside the verdicts.
pub(crate) struct WarningRow {
    /// The class by which it is drawn.
    pub(crate) class: &'static str,
    pub(crate) text: String,
    /// The due lists of the cars that it speaks of: car and address.
    pub(crate) due_lists: Vec<(CarNumber, String)>,
    /// The components that are to be judged again, where it speaks of these: name and page.
    pub(crate) components: Vec<(String, String)>,
}

impl WarningRow {
    /// All there is to know, the gravest first, as at the times that the page speaks of.
    pub(crate) fn all(decision: &Decision, times: &AsAtQuery) -> Vec<Self> {
        let due_lists = |warning: &Warning| -> Vec<(CarNumber, String)> {
            if warning.kind == WarningKind::DueAtOnceFitted {
                let due = decision.due_at_once.iter();
                let fitted = due.filter(|one| one.due.position.is_some());
                let cars: BTreeSet<&CarNumber> = fitted.map(|one| &one.car_number).collect();
                let link = |car: &CarNumber| (car.clone(), address::due_now_on(car));
                return cars.into_iter().map(link).collect();
            }
            let told = decision.overdue.iter();
            let told = told.filter(|_| warning.kind.is_of_overdue_work());
            let link = |car: &CarNumber| (car.clone(), address::overdue_on(car, times));
            told.map(|one| link(&one.car_number)).collect()
        };
        let components = |warning: &Warning| {
            let again = decision.judge_again.iter();
            let again = again.filter(|_| warning.kind == WarningKind::JudgeAgain);
            let link = again.map(|one| {
                let component = &one.again.component;
                (component.to_string(), address::component(component))
            });
            link.collect()
        };
        let warnings = decision.warnings().into_iter();
        let rows = warnings.map(|warning| Self {
            class: warning.kind.name(),
            due_lists: due_lists(&warning),
            components: components(&warning),
            text: warning.text,
        });
        rows.collect()
    }
}
