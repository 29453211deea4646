//! Characters that cannot be seen, with which a name or a text is shown as something else than it is.

/// Whether a character looks like nothing or like an ordinary blank, so that two names with and
/// without it look the same: blanks of other widths, letters and patterns that are left blank, and what
/// only steers how text is set.
pub(crate) fn is_unseen(c: char) -> bool {
    let blank = matches!(
        c,
        '\u{115f}' | '\u{1160}' | '\u{2800}' | '\u{3164}' | '\u{ffa0}'
    );
    steers(c) || blank || (c.is_whitespace() && c != ' ')
}

/// Whether a character only steers how text is set: those of general category Cf in Unicode that are
/// not drawn, and U+180E, which was one of them.
pub(crate) fn steers(c: char) -> bool {
    matches!(
        c,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
            | '\u{e0001}' | '\u{e0020}'..='\u{e007f}'
    )
}

/// What is expected instead of a text with such a character.
pub(crate) fn without_it(hidden: char) -> String {
    let code = u32::from(hidden);
    format!("no character that cannot be seen, as U+{code:04X} in it")
}

/// What is expected of a free text instead, where a character in it only steers how it is set, so
/// that it would be shown as something else than it is, or is a control character other than those
/// that end a line or move along it.
pub fn expected_of_text(text: &str) -> Option<String> {
    let lays_out = |c: char| matches!(c, '\n' | '\r' | '\t');
    let hides = |c: char| steers(c) || (c.is_control() && !lays_out(c));
    text.chars().find(|c| hides(*c)).map(without_it)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_have_lines_and_nothing_that_steers_how_they_are_set() {
        for text in ["a cock", "Ventil für Öl", "two\r\nlines\tand more", "阀 2"] {
            assert_eq!(expected_of_text(text), None, "{text:?}");
        }
        // Unicode Standard Annex 9, table of explicit directional characters; Unicode 16, category Cf.
        for hidden in [
            '\0',
            '\u{1b}',
            '\u{85}',
            '\u{ad}',
            '\u{200b}',
            '\u{200f}',
            '\u{202e}',
            '\u{2066}',
            '\u{fff9}',
            '\u{e0041}',
        ] {
            let told = expected_of_text(&format!("cock {hidden}gnirts"));
            let code = format!("U+{:04X}", u32::from(hidden));
            assert!(told.is_some_and(|told| told.contains(&code)), "{code}");
        }
    }
}
