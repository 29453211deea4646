//! What due work is on.

/// Components and cars by their ids, which are all different.
pub(super) struct Subjects {
    pub(super) components: Vec<i64>,
    pub(super) cars: Vec<i64>,
}

impl Subjects {
    pub(super) fn is_none(&self) -> bool {
        self.components.is_empty() && self.cars.is_empty()
    }

    pub(super) fn ids(&self) -> Vec<i64> {
        self.components.iter().chain(&self.cars).copied().collect()
    }
}

/// Narrows a statement to subjects, by its columns of components and of cars. Of one kind alone
/// there is no word of the other.
macro_rules! subjects_in {
    ($query:expr, $subjects:expr, $component:literal, $car:literal) => {
        $query.push("(");
        let kinds = [($component, &$subjects.components), ($car, &$subjects.cars)];
        let mut or = "";
        for (column, ids) in kinds.into_iter().filter(|(_, ids)| !ids.is_empty()) {
            $query.push(or).push(column).push(" in (");
            let mut list = $query.separated(", ");
            for id in $crate::shape::padded(ids) {
                list.push_bind(id.copied());
            }
            $query.push(")");
            or = " or ";
        }
        $query.push(")");
    };
}
pub(super) use subjects_in;
