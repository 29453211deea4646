//! What is checked together. A check is confirmed for a cut-out, so what two cut-outs share, and all
//! else that either of them needs, is one check: none is taken for done by another.

use super::checks::Place;
use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, PositionCode};
use std::collections::BTreeSet;

/// Things to look at with the cut-outs for which it is done, by their place among all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Joined<T> {
    pub(super) of: BTreeSet<usize>,
    pub(super) all: Vec<T>,
}

/// Joins whatever shares a cut-out, in the order given. The square of their number.
pub(super) fn joined<T>(each: impl IntoIterator<Item = (BTreeSet<usize>, T)>) -> Vec<Joined<T>> {
    let mut groups: Vec<Joined<T>> = Vec::new();
    for (of, one) in each {
        let shares = |group: &Joined<T>| !group.of.is_disjoint(&of);
        let Some(first) = groups.iter().position(shares) else {
            let all = vec![one];
            groups.push(Joined { of, all });
            continue;
        };
        let (before, after) = groups.split_at_mut(first + 1);
        let group = &mut before[first];
        for other in after.iter_mut().filter(|other| !other.of.is_disjoint(&of)) {
            group.of.append(&mut other.of);
            group.all.append(&mut other.all);
        }
        group.of.extend(of);
        group.all.push(one);
        groups.retain(|group| !group.all.is_empty());
    }
    groups
}

/// Where something is cut out among the cut-outs of a question.
pub(super) fn place_of(places: &[Place<'_>], car: usize, code: &PositionCode) -> Option<usize> {
    let mut places = places.iter();
    places.position(|place| place.index == car && place.position.code == *code)
}

/// The cut-outs, as a check names them.
pub(super) fn named(places: &[Place<'_>], of: &BTreeSet<usize>) -> Vec<PositionRef> {
    let these = of.iter().filter_map(|place| places.get(*place));
    these.map(Place::at).collect()
}

/// Parts of cars in the order of the train: "Car 4101, bogies 1, 2; car 4102, bogie 1".
pub(super) fn bogies(of: &BTreeSet<(usize, CarNumber, Option<u8>)>) -> String {
    let mut cars: Vec<(&CarNumber, Vec<String>)> = Vec::new();
    for (_, car, bogie) in of {
        let bogie = bogie.map(|bogie| bogie.to_string());
        match cars.last_mut() {
            Some((known, bogies)) if *known == car => bogies.extend(bogie),
            _ => cars.push((car, bogie.into_iter().collect())),
        }
    }
    let words = |(car, bogies): &(&CarNumber, Vec<String>)| match bogies.as_slice() {
        [] => format!("car {car}"),
        [one] => format!("car {car}, bogie {one}"),
        all => format!("car {car}, bogies {}", all.join(" and ")),
    };
    cars.iter().map(words).collect::<Vec<_>>().join("; ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn together(each: &[(&[usize], char)]) -> Vec<(Vec<usize>, String)> {
        let each = each.iter();
        let each = each.map(|(of, one)| (of.iter().copied().collect(), *one));
        let groups = joined(each).into_iter();
        groups
            .map(|group| (group.of.into_iter().collect(), group.all.iter().collect()))
            .collect()
    }

    /// A cut-out stands in one group, so that whoever confirms for it confirms one check.
    #[test]
    fn what_shares_a_cut_out_is_one_even_through_a_third() {
        let apart = together(&[(&[1], 'a'), (&[2], 'b')]);
        assert_eq!(
            apart,
            [(vec![1], "a".to_owned()), (vec![2], "b".to_owned())]
        );
        let bridged = together(&[(&[1], 'a'), (&[3], 'c'), (&[2], 'b'), (&[1, 2], 'd')]);
        let expected = [(vec![1, 2], "abd".to_owned()), (vec![3], "c".to_owned())];
        assert_eq!(bridged, expected);
    }

    #[test]
    fn bogies_are_named_by_car_in_the_order_of_the_train() {
        let car = |number: &str| number.parse().expect("a car");
        let of = BTreeSet::from([
            (1, car("4101"), Some(1)),
            (0, car("4102"), Some(2)),
            (0, car("4102"), Some(1)),
            (2, car("4103"), None),
        ]);
        let says = "car 4102, bogies 1 and 2; car 4101, bogie 1; car 4103";
        assert_eq!(bogies(&of), says);
    }
}
