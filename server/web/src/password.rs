//! Passwords: which are accepted, and their hashes. By OWASP ASVS 5.0.0, chapter 6.2: long
//! enough, not to be guessed soon, and any characters.

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use sha2::{Digest, Sha256};
use tokio::sync::Semaphore;
use tokio::task::spawn_blocking;
use uuid::Uuid;
use zxcvbn::{Score, zxcvbn};

/// The shortest password, in characters.
pub const CHARS_MIN: usize = 12;

/// The longest password, in bytes: 128 characters of any script.
pub const BYTES_MAX: usize = 512;

/// Memory of one hash in KiB and how often it is gone over: the second of the choices for
/// Argon2id in the OWASP Password Storage Cheat Sheet (19 MiB, two passes, one lane).
const MEMORY_KIB: u32 = 19_456;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// Hashes worked out at the same time; others wait.
const AT_ONCE: usize = 4;
static TURNS: Semaphore = Semaphore::const_new(AT_ONCE);

/// Words of the place, which guessers try first.
const OF_THE_PLACE: [&str; 4] = ["brake", "register", "railway", "brakeregister"];

/// Why a password is not accepted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PasswordFault {
    /// Too short.
    #[error("at least {CHARS_MIN} characters")]
    TooShort,
    /// Too long.
    #[error("at most {BYTES_MAX} bytes, which is 128 characters of any script")]
    TooLong,
    /// It is common, or made of a common word, a name, a date, a row of keys.
    #[error(
        "one that is not soon guessed: several words that do not belong together, no names, dates or rows of keys"
    )]
    SoonGuessed,
}

/// Whether a password is accepted for an account of a name.
pub fn accepted(password: &str, account: &str) -> Result<(), PasswordFault> {
    if password.chars().count() < CHARS_MIN {
        return Err(PasswordFault::TooShort);
    }
    if BYTES_MAX < password.len() {
        return Err(PasswordFault::TooLong);
    }
    let mut known: Vec<&str> = OF_THE_PLACE.to_vec();
    known.push(account);
    known.extend(account.split(|c: char| !c.is_alphanumeric()));
    match zxcvbn(password, &known).score() {
        Score::Three | Score::Four => Ok(()),
        _ => Err(PasswordFault::SoonGuessed),
    }
}

fn argon2() -> Argon2<'static> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None).unwrap_or_default();
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

fn hash_now(password: &str) -> Option<String> {
    let hash = argon2().hash_password(password.as_bytes()).ok()?;
    Some(hash.to_string())
}

fn is_right(known: Option<&str>, password: &str) -> bool {
    let Some(parsed) = known.and_then(|known| PasswordHash::new(known).ok()) else {
        // Work as much for an unknown name as for a known one.
        let _ = hash_now(password);
        return false;
    };
    let right = argon2().verify_password(password.as_bytes(), &parsed);
    right.is_ok()
}

/// The Argon2id hash of a password in PHC string form; none if the machine is out of memory.
pub async fn hash(password: String) -> Option<String> {
    let _turn = TURNS.acquire().await;
    let hashed = spawn_blocking(move || hash_now(&password)).await;
    hashed.ok().flatten()
}

/// Whether a password is that of a hash. Takes as long where there is no hash.
pub(crate) async fn verify(known: Option<String>, password: String) -> bool {
    if BYTES_MAX < password.len() {
        return false;
    }
    let _turn = TURNS.acquire().await;
    let right = spawn_blocking(move || is_right(known.as_deref(), &password)).await;
    right.unwrap_or(false)
}

/// A password for one use: four groups of five letters and digits that are not mistaken for one
/// another, 100 random bits.
pub fn one_time() -> String {
    const LETTERS: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";
    let random = [Uuid::new_v4(), Uuid::new_v4()].map(Uuid::into_bytes);
    let random = Sha256::digest(random.concat());
    let letter = |byte: &u8| char::from(LETTERS[usize::from(byte & 31)]);
    let groups = random[..20].chunks(5);
    let groups = groups.map(|group| group.iter().map(letter).collect::<String>());
    groups.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "quail lantern over seven mud";

    /// OWASP ASVS 5.0.0: 6.2.1 (length), 6.2.4 (common ones), 6.2.11 (words of the place), 6.2.5
    /// (no rules on kinds of characters) and 6.2.9 (64 characters and more).
    #[test]
    fn long_and_uncommon_passwords_of_any_characters_are_accepted() {
        let long = "ñ ".repeat(64);
        let others = [
            "zorgvuldig gekozen paarse otter",
            "тёплый валенок над рекой",
            "8420 9173 5521 0769",
        ];
        for good in [GOOD, &one_time()].into_iter().chain(others) {
            assert_eq!(accepted(good, "A. Name"), Ok(()), "{good}");
        }
        assert!(accepted(&long, "A. Name") != Err(PasswordFault::TooLong));
    }

    #[test]
    fn short_long_common_and_local_ones_are_not() {
        let long = "x".repeat(BYTES_MAX + 1);
        for (bad, fault) in [
            ("", PasswordFault::TooShort),
            ("elevenchars", PasswordFault::TooShort),
            (long.as_str(), PasswordFault::TooLong),
            ("password1234", PasswordFault::SoonGuessed),
            ("Password2026!", PasswordFault::SoonGuessed),
            ("qwertyuiop123", PasswordFault::SoonGuessed),
            ("aaaaaaaaaaaaaaaa", PasswordFault::SoonGuessed),
            ("brakeregister1", PasswordFault::SoonGuessed),
            ("Sandpiper2026", PasswordFault::SoonGuessed),
        ] {
            assert_eq!(accepted(bad, "Sandpiper, planner"), Err(fault), "{bad}");
        }
    }

    /// The parameters of the OWASP Password Storage Cheat Sheet, Argon2id: m=19456, t=2, p=1.
    #[tokio::test]
    async fn hashes_are_argon2id_with_the_published_parameters_and_a_salt_of_their_own() {
        let one = hash(GOOD.to_owned()).await.expect("memory");
        let other = hash(GOOD.to_owned()).await.expect("memory");
        assert!(one.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{one}");
        assert_ne!(one, other);
        assert!(verify(Some(one.clone()), GOOD.to_owned()).await);
        // Neither trimmed nor folded.
        for wrong in [format!("{GOOD} "), GOOD.to_uppercase(), String::new()] {
            assert!(!verify(Some(one.clone()), wrong).await);
        }
        assert!(!verify(None, GOOD.to_owned()).await);
        assert!(!verify(Some("nonsense".to_owned()), GOOD.to_owned()).await);
    }

    #[test]
    fn one_time_passwords_differ_and_are_accepted() {
        let (one, other) = (one_time(), one_time());
        assert_ne!(one, other);
        assert_eq!(one.len(), 23);
        assert_eq!(accepted(&one, "A. Name"), Ok(()));
    }
}
