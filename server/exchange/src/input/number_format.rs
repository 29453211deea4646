//! Whether a cell of a workbook shows a number as something else: where a thing is named by a number,
//! what people read is its name and not the number. A format is that of `SpreadsheetML`, ISO/IEC
//! 29500-1, 18.8.30 and 18.8.31: `0` a digit that is always shown, text in quotation marks or after
//! a backslash shown as it stands, sections separated by semicolons of which the first is for
//! positive numbers.

/// Whether a format shows a number otherwise than by its digits alone: with zeros before or behind
/// them, rounded, hyphens between them, or letters and digits beside them.
pub(super) fn shows_otherwise(format: &str, number: &str) -> bool {
    let (whole, decimals) = number.split_once('.').unwrap_or((number, ""));
    let mut places = Places::default();
    let mut signs = format.chars();
    while let Some(sign) = signs.next() {
        match sign {
            // What follows is for other numbers.
            ';' => break,
            // The word General.
            'G' => {
                signs.nth("eneral".len() - 1);
            }
            // A power of ten, a share of a hundred, a fraction.
            'E' | 'e' | '%' | '/' => return true,
            '"' => {
                let mut literal = signs.by_ref().take_while(|sign| *sign != '"');
                if literal.by_ref().any(char::is_alphanumeric) {
                    return true;
                }
            }
            '\\' => match signs.next() {
                Some(literal) if literal.is_alphanumeric() => return true,
                Some('-') => places.part(),
                _ => {}
            },
            '_' | '*' => {
                signs.next();
            }
            '[' => signs
                .by_ref()
                .take_while(|sign| *sign != ']')
                .for_each(drop),
            '-' => places.part(),
            '.' => places.point = true,
            ',' => places.comma = true,
            '0' | '#' | '?' if places.parted => return true,
            '0' | '#' | '?' => places.add(sign),
            _ => {}
        }
    }
    places.show_otherwise(whole.trim_start_matches('-'), decimals)
}

/// The places for digits of a format, as far as it is read.
#[derive(Default)]
struct Places {
    /// Digits before the point that are always shown.
    whole: usize,
    /// Digits behind it that are always shown.
    least: usize,
    /// Digits behind it that can be shown.
    most: usize,
    /// All digits.
    digits: usize,
    parted: bool,
    point: bool,
    /// A comma and no digit since: what is shown is so many thousands.
    comma: bool,
}

impl Places {
    fn add(&mut self, sign: char) {
        self.digits += 1;
        let always = usize::from(sign == '0');
        if self.point {
            self.least += always;
            self.most += 1;
        } else {
            self.comma = false;
            self.whole += always;
        }
    }

    /// A hyphen between digits.
    fn part(&mut self) {
        self.parted = self.digits != 0;
    }

    /// Whether they show the digits before and behind the point of a number otherwise.
    fn show_otherwise(&self, whole: &str, decimals: &str) -> bool {
        let shown = self.least..=self.most;
        self.digits != 0
            && (self.comma || whole.len() < self.whole || !shown.contains(&decimals.len()))
    }
}

#[cfg(test)]
mod tests {
    use super::shows_otherwise;

    #[test]
    fn a_number_is_shown_otherwise_with_zeros_hyphens_or_words_or_rounded() {
        for (format, number) in [
            ("0000", "41"),
            ("000000", "41012"),
            ("00-00", "4101"),
            ("\"SN\"0", "41"),
            ("\\C0", "41"),
            ("[Red]0000;-0000", "41"),
            ("0000_-", "41"),
            ("00\\-00", "4101"),
            ("0.00", "41"),
            ("0.00", "1.1"),
            ("0.0", "1.25"),
            ("0", "1234.56"),
            ("#,##0", "1234.56"),
            ("0,", "4101"),
            ("0%", "0.41"),
            ("# ?/?", "1.5"),
            ("0.00E+00", "4"),
            ("General\"A\"", "41"),
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
            ("0.00", "41.25"),
            ("0.##", "41"),
            ("0.0#", "1.1"),
            ("General", "1.1"),
            ("@", "1.1"),
            ("#,##0", "4101"),
            ("0000", "4101"),
            ("000", "4101"),
            ("[$-409]0", "41"),
            ("_-* #,##0_-;-* #,##0_-", "41"),
            ("0;\"none\"", "41"),
        ] {
            assert!(!shows_otherwise(format, number), "{format} of {number}");
        }
    }
}
