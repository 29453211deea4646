//! The one secret of a sign-on, and what follows from it.

use crate::session::{hash, random_token};
use domain::ledger::chain::shown;
use store::account::TokenHash;

/// A sign-on that has begun in a browser. Made of the text in its cookie.
#[derive(Clone)]
pub(crate) struct OneSignOn {
    secret: String,
}

impl OneSignOn {
    /// A new one, with a secret of 244 random bits.
    pub(crate) fn new() -> Self {
        Self {
            secret: random_token(),
        }
    }

    /// The one of a browser, by its cookie. Whatever that holds, only who knows it can come back.
    pub(crate) fn of_browser(secret: &str) -> Self {
        let secret = secret.to_owned();
        Self { secret }
    }

    /// For the browser's cookie.
    pub(crate) fn secret(&self) -> &str {
        &self.secret
    }

    /// What comes back with the browser (RFC 6749, section 10.12).
    pub(crate) fn state(&self) -> String {
        self.hashed("state")
    }

    /// Whether that is the state. Both are hashed first, so that how long it takes tells nothing.
    pub(crate) fn is_state(&self, brought: &str) -> bool {
        hash(brought) == self.kept_by()
    }

    /// What comes back in the ID token (`OpenID` Connect Core 1.0, section 15.5.2).
    pub(crate) fn nonce(&self) -> String {
        self.hashed("nonce")
    }

    /// What proves that the code is asked for by who began (RFC 7636, section 4.1: 43 to 128
    /// characters).
    pub(crate) fn proof_key(&self) -> String {
        self.hashed("proof key")
    }

    /// By what it is kept until it comes back.
    pub(crate) fn kept_by(&self) -> TokenHash {
        hash(&self.state())
    }

    /// Tells nothing of the secret, nor of what else is made of it.
    fn hashed(&self, what: &str) -> String {
        shown(&hash(&format!("{what} of {}", self.secret)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 7636, section 4.1, and that no part gives another away.
    #[test]
    fn state_nonce_and_proof_key_differ_and_follow_from_the_cookie_alone() {
        let one = OneSignOn::new();
        let parts = |one: &OneSignOn| [one.state(), one.nonce(), one.proof_key()];
        assert_eq!(parts(&one), parts(&OneSignOn::of_browser(one.secret())));
        let mut all = parts(&one).to_vec();
        all.extend(parts(&OneSignOn::new()));
        all.sort();
        all.dedup();
        assert_eq!(all.len(), 6);
        assert!((43..=128).contains(&one.proof_key().len()));
        assert!(
            one.proof_key()
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric())
        );
    }
}
