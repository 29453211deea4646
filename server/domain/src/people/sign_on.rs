//! Single sign-on: a person whom another system vouches for, by its name and theirs in it. No
//! account is made of that; somebody who keeps accounts binds it to one.

use crate::people::tries::seconds_after;
use crate::time::Instant;
use crate::unreadable::Unreadable;
use crate::words::word_list;

word_list! {
    /// How a session was opened.
    Way, "way of signing in" {
        /// With the password of the account.
        Password = "password",
        /// Through the provider of identities.
        SignOn = "sign_on",
    }
}

/// Seconds within which one comes back from the provider.
pub const PENDING_S: i64 = 600;

/// The most people bound to no account that are kept, the latest of them.
pub const UNBOUND_MAX: usize = 50;

/// How much is kept of what the provider calls a person, in characters.
pub const CALLED_CHARS: usize = 120;

/// The longest address of a provider, in characters.
const ISSUER_CHARS: usize = 500;

/// A person as a provider of identities knows them. The two together are for one person for
/// ever; names and addresses are not (`OpenID` Connect Core 1.0, section 5.7).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct OutsideIdentity {
    issuer: String,
    subject: String,
}

impl OutsideIdentity {
    /// The greatest number of characters of a subject, which are ASCII (`OpenID` Connect
    /// Core 1.0, section 2).
    pub const SUBJECT_CHARS: usize = 255;

    /// A person by the provider's address and their name in it.
    pub fn new(issuer: &str, subject: &str) -> Result<Self, Unreadable> {
        if issuer.is_empty() || ISSUER_CHARS < issuer.chars().count() {
            let expected = format!("an address of 1 to {ISSUER_CHARS} characters");
            return Err(Unreadable::new("issuer", issuer, expected));
        }
        let printable = subject.bytes().all(|byte| (0x20..0x7f).contains(&byte));
        if subject.is_empty() || Self::SUBJECT_CHARS < subject.len() || !printable {
            let expected = format!("1 to {} characters of ASCII", Self::SUBJECT_CHARS);
            return Err(Unreadable::new("subject", subject, expected));
        }
        Ok(Self {
            issuer: issuer.to_owned(),
            subject: subject.to_owned(),
        })
    }

    /// The provider's address.
    pub fn issuer(&self) -> &str {
        &self.issuer
    }

    /// The person's name in it.
    pub fn subject(&self) -> &str {
        &self.subject
    }
}

/// What a provider calls a person, as much as is kept. For people to read; it proves nothing.
pub fn called(text: &str) -> String {
    let printable = text.chars().filter(|letter| !letter.is_control());
    printable.take(CALLED_CHARS).collect()
}

/// A sign-on is still good if it began after this.
pub fn good_since(now: Instant) -> Instant {
    seconds_after(now, -PENDING_S)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `OpenID` Connect Core 1.0, section 2: a subject has at most 255 characters of ASCII.
    #[test]
    fn a_subject_is_short_and_ascii_and_kept_to_the_letter() {
        let identity = |subject: &str| OutsideIdentity::new("https://id.example", subject);
        for good in [
            "1",
            " 24400320 ",
            "AItOawmwtWwcT0k51BayewNvutrJUqsvl6qs7A4",
            &"x".repeat(255),
        ] {
            assert_eq!(identity(good).expect("a subject").subject(), good);
        }
        for bad in ["", &"x".repeat(256), "ü", "a\u{0}"] {
            assert!(identity(bad).is_err(), "{bad:?}");
        }
        assert!(OutsideIdentity::new("", "1").is_err());
    }

    #[test]
    fn what_somebody_is_called_is_cut_and_has_no_control_characters() {
        assert_eq!(called("R.\u{7} Marsh\n"), "R. Marsh");
        assert_eq!(called(&"ü".repeat(500)).chars().count(), CALLED_CHARS);
    }
}
