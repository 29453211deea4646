//! Whether a cell of a workbook shows a number as something else: where a thing is named by a number,
//! what people read is its name and not the number. A format is that of `SpreadsheetML`, ISO/IEC
//! 29500-1, 18.8.30 and 18.8.31: `0` a digit that is always shown, text in quotation marks or after
//! a backslash shown as it stands, sections separated by semicolons of which the first is for
//! positive numbers.

/// Whether a format shows a whole number otherwise than by its digits alone: with zeros before
/// them, hyphens between them, or letters and digits beside them.
pub(super) fn shows_otherwise(format: &str, number: &str) -> bool {
    let mut zeros = 0;
    let (mut begun, mut parted) = (false, false);
    let mut signs = format.chars();
    while let Some(sign) = signs.next() {
        match sign {
            // What follows is for other numbers, or behind the point; or it is the word General.
            ';' | '.' | 'E' | 'e' | 'G' => break,
            '"' => {
                let mut literal = signs.by_ref().take_while(|sign| *sign != '"');
                if literal.by_ref().any(char::is_alphanumeric) {
                    return true;
                }
            }
            '\\' => match signs.next() {
                Some(literal) if literal.is_alphanumeric() => return true,
                Some('-') => parted = begun,
                _ => {}
            },
            '_' | '*' => {
                signs.next();
            }
            '[' => signs
                .by_ref()
                .take_while(|sign| *sign != ']')
                .for_each(drop),
            '-' => parted = begun,
            '0' | '#' | '?' if parted => return true,
            '0' => {
                begun = true;
                zeros += 1;
            }
            '#' | '?' => begun = true,
            _ => {}
        }
    }
    number.len() < zeros
}

#[cfg(test)]
mod tests {
    use super::shows_otherwise;

    #[test]
    fn a_number_is_shown_otherwise_with_zeros_hyphens_or_words() {
        for (format, number) in [
            ("0000", "41"),
            ("000000", "41012"),
            ("00-00", "4101"),
            ("\"SN\"0", "41"),
            ("\\C0", "41"),
            ("[Red]0000;-0000", "41"),
            ("0000_-", "41"),
            ("00\\-00", "4101"),
        ] {
            assert!(shows_otherwise(format, number), "{format} of {number}");
        }
    }

    #[test]
    fn a_number_with_its_own_digits_is_shown_as_it_is() {
        for (format, number) in [
            ("General", "41"),
            ("@", "41"),
            ("0", "41"),
            ("0.00", "41"),
            ("#,##0", "4101"),
            ("0000", "4101"),
            ("000", "4101"),
            ("[$-409]0", "41"),
            ("_-* #,##0_-;-* #,##0_-", "41"),
            ("0;\"none\"", "41"),
            ("0.00E+00", "4"),
        ] {
            assert!(!shows_otherwise(format, number), "{format} of {number}");
        }
    }
}
