//! With which provider, and as whom.

use super::ask::Asker;
use openidconnect::url::{Host, ParseError, Url};
use openidconnect::{ClientId, ClientSecret, IssuerUrl, RedirectUrl};
use std::time::Duration;

/// How long the provider may take for one answer, of up to three in one request.
const ANSWER_TIME_MAX: Duration = Duration::from_secs(8);

/// Where browsers come back to.
pub(crate) const BACK: &str = "/sign-on/back";

/// What whoever runs the server says of the provider.
#[derive(Clone)]
pub struct SignOnSettings {
    /// The provider's address, to the letter as it stands in its metadata.
    pub issuer: String,
    /// As what the register is known there.
    pub client: String,
    /// By what the register proves that it is that.
    pub secret: String,
    /// The address at which people open the register.
    pub address: String,
}

/// Why there can be no single sign-on.
#[derive(Debug, thiserror::Error)]
pub enum SettingsFault {
    /// An address that is none.
    #[error("“{0}” is no address: {1}")]
    Address(String, #[source] ParseError),
    /// An address without encryption.
    #[error(
        "“{0}” is not safe; expected an address that begins with https://, or with http:// one on this machine"
    )]
    NotSafe(String),
    /// The register has a name or secret of no characters.
    #[error("the provider knows the register by a name and a secret; one of them is empty")]
    Empty,
    /// There is no client for HTTP.
    #[error("the provider cannot be asked: {0}")]
    NoClient(#[from] reqwest::Error),
}

/// Single sign-on with one provider.
pub struct SignOn {
    pub(super) issuer: IssuerUrl,
    pub(super) client: ClientId,
    pub(super) secret: ClientSecret,
    pub(super) back: RedirectUrl,
    pub(super) http: Asker,
    host: String,
}

/// Whether what is sent to an address is encrypted or stays on this machine.
pub(super) fn is_safe(address: &Url) -> bool {
    address.scheme() == "https" || (address.scheme() == "http" && is_here(address))
}

fn is_here(address: &Url) -> bool {
    match address.host() {
        Some(Host::Ipv4(host)) => host.is_loopback(),
        Some(Host::Ipv6(host)) => host.is_loopback(),
        Some(Host::Domain(name)) => name == "localhost",
        None => false,
    }
}

fn safe(address: &str) -> Result<Url, SettingsFault> {
    let read = Url::parse(address);
    let url = read.map_err(|why| SettingsFault::Address(address.to_owned(), why))?;
    if is_safe(&url) {
        Ok(url)
    } else {
        Err(SettingsFault::NotSafe(address.to_owned()))
    }
}

impl SignOn {
    /// Reads what was said; asks nothing of the provider yet.
    pub fn new(settings: SignOnSettings) -> Result<Self, SettingsFault> {
        let issuer = safe(&settings.issuer)?;
        let unreadable = |why| SettingsFault::Address(settings.address.clone(), why);
        let back = safe(&settings.address)?.join(BACK).map_err(unreadable)?;
        if settings.client.is_empty() || settings.secret.is_empty() {
            return Err(SettingsFault::Empty);
        }
        let encrypted = issuer.scheme() == "https";
        // Of the two there may be one already; either is good.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let http = reqwest::Client::builder()
            .redirect(reqwest::redirect::Policy::none())
            .https_only(encrypted)
            .timeout(ANSWER_TIME_MAX);
        let http = if encrypted { http } else { http.no_proxy() };
        let named = |why| SettingsFault::Address(settings.issuer.clone(), why);
        Ok(Self {
            host: issuer.host_str().unwrap_or_default().to_owned(),
            issuer: IssuerUrl::new(settings.issuer.clone()).map_err(named)?,
            client: ClientId::new(settings.client),
            secret: ClientSecret::new(settings.secret),
            back: RedirectUrl::from_url(back),
            http: Asker(http.build()?),
        })
    }

    /// The provider's host, by which people know it.
    pub fn host(&self) -> &str {
        &self.host
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn settings(issuer: &str, address: &str) -> SignOnSettings {
        SignOnSettings {
            issuer: issuer.to_owned(),
            client: "register".to_owned(),
            secret: "secret".to_owned(),
            address: address.to_owned(),
        }
    }

    #[test]
    fn one_comes_back_to_the_register_over_https() {
        let sign_on = SignOn::new(settings(
            "https://id.example/railway",
            "https://brakes.example",
        ));
        let sign_on = sign_on.expect("settings");
        assert_eq!(sign_on.back.as_str(), "https://brakes.example/sign-on/back");
        assert_eq!(sign_on.host(), "id.example");
        assert_eq!(sign_on.issuer.as_str(), "https://id.example/railway");
    }

    /// `OpenID` Connect Core 1.0, section 16.17: encryption wherever anything is sent.
    #[test]
    fn addresses_without_encryption_are_taken_on_this_machine_only() {
        for (issuer, address, taken) in [
            ("http://127.0.0.1:9", "http://localhost:8080", true),
            ("http://[::1]:9", "http://127.0.0.1:8080", true),
            ("http://id.example", "https://brakes.example", false),
            ("https://id.example", "http://brakes.example", false),
            ("http://127.0.0.1.example", "https://brakes.example", false),
            ("id.example", "https://brakes.example", false),
            ("file:///etc", "https://brakes.example", false),
        ] {
            assert_eq!(
                SignOn::new(settings(issuer, address)).is_ok(),
                taken,
                "{issuer} {address}"
            );
        }
        let mut nobody = settings("https://id.example", "https://brakes.example");
        nobody.secret = String::new();
        assert!(SignOn::new(nobody).is_err());
    }
}
