//! Which positions of a car hold a component.

use crate::identity::PositionCode;
use std::ops::Range;

/// The codes of the positions of a car that hold a component. They are only compared with others, so
/// that they stay in the one text that they come in: a car has a hundred, and to make each of them a
/// code of its own costs more than anything else that a decision reads.
#[derive(Debug, Clone, Default)]
pub struct FilledPositions {
    text: String,
    /// Where each code stands in the text, by code.
    codes: Vec<Range<usize>>,
}

impl FilledPositions {
    /// Those of a text with one blank between each two. Of codes n log n.
    pub fn of(text: String) -> Self {
        let mut codes = Vec::new();
        let mut begin = 0;
        for code in text.split(' ') {
            let end = begin + code.len();
            if begin < end {
                codes.push(begin..end);
            }
            begin = end + 1;
        }
        codes.sort_unstable_by(|one, other| text[one.clone()].cmp(&text[other.clone()]));
        Self { text, codes }
    }

    /// The codes, ascending.
    pub fn codes(&self) -> impl Iterator<Item = &str> {
        self.codes.iter().map(|code| &self.text[code.clone()])
    }

    /// Whether a position is among them. Logarithmic.
    pub fn contains(&self, code: &PositionCode) -> bool {
        let place = |one: &Range<usize>| self.text[one.clone()].cmp(code.as_str());
        self.codes.binary_search_by(place).is_ok()
    }
}

impl FromIterator<PositionCode> for FilledPositions {
    fn from_iter<I: IntoIterator<Item = PositionCode>>(codes: I) -> Self {
        let mut text = String::new();
        for code in codes {
            text.push_str(code.as_str());
            text.push(' ');
        }
        Self::of(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn code(text: &str) -> PositionCode {
        text.parse().expect("a position code")
    }

    #[test]
    fn those_of_a_text_are_found_in_any_order() {
        for text in ["=B2 =B1-K10 =B1-K1", "=B1-K1 =B1-K10 =B2 "] {
            let filled = FilledPositions::of(text.to_owned());
            assert_eq!(
                filled.codes().collect::<Vec<_>>(),
                ["=B1-K1", "=B1-K10", "=B2"]
            );
            assert!(filled.contains(&code("=B2")) && !filled.contains(&code("=B1")));
        }
        assert_eq!(FilledPositions::of(String::new()).codes().count(), 0);
        let one: FilledPositions = [code("=B1")].into_iter().collect();
        assert!(one.contains(&code("=B1")));
    }
}
