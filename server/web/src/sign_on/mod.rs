//! Single sign-on through `OpenID` Connect: the authorization code flow with a proof key, of
//! which the library does the cryptography.
//!
//! A sign-on is one random text in a cookie of the browser. State, nonce and proof key are hashes
//! of it, as RFC 6749, section 10.12, and `OpenID` Connect Core 1.0, section 15.5.2, recommend: so
//! each belongs to that browser alone, and nothing that the register keeps could be used. The
//! provider is asked for its metadata and keys each time, so that nothing here is ever stale.

mod ask;
mod outcome;
mod secret;
mod settings;

pub(crate) use outcome::{Brought, Outcome, Refusal, count, looked_at};
pub(crate) use secret::OneSignOn;
pub(crate) use settings::BACK;
pub use settings::{SettingsFault, SignOn, SignOnSettings};

use domain::people::sign_on::{OutsideIdentity, called};
use domain::time::Instant;
use domain::unreadable::Unreadable;
use openidconnect::core::{
    CoreAuthenticationFlow, CoreClient, CoreClientAuthMethod, CoreIdTokenClaims,
    CoreIdTokenVerifier, CoreJwsSigningAlgorithm, CoreProviderMetadata,
};
use openidconnect::url::Url;
use openidconnect::{
    AuthType, AuthorizationCode, ClaimsVerificationError, CsrfToken, EndpointMaybeSet,
    EndpointNotSet, EndpointSet, JwsSigningAlgorithm, Nonce, PkceCodeChallenge, PkceCodeVerifier,
    RequestTokenError, Scope, TokenResponse,
};
use std::time::{Duration, UNIX_EPOCH};

type Client = CoreClient<
    EndpointSet,
    EndpointNotSet,
    EndpointNotSet,
    EndpointNotSet,
    EndpointMaybeSet,
    EndpointMaybeSet,
>;

/// Why the provider vouches for nobody.
#[derive(Debug, thiserror::Error)]
pub enum SignOnFault {
    /// It does not answer, or not as a provider does.
    #[error("the provider does not answer as it should: {0}")]
    Away(String),
    /// It does not take the code.
    #[error("the provider does not take the code: {0}")]
    Code(String),
    /// Its answer has no ID token.
    #[error("the provider's answer has no ID token")]
    NoToken,
    /// The ID token is not proven.
    #[error("the ID token is not proven: {}", ask::with_causes(.0))]
    Token(#[from] ClaimsVerificationError),
    /// The ID token was issued to another.
    #[error("the ID token was issued to another client")]
    OtherClient,
    /// The person's name in the provider is none.
    #[error("{0}")]
    Subject(#[from] Unreadable),
}

/// A person for whom the provider vouches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Vouched {
    /// Who.
    pub(crate) identity: OutsideIdentity,
    /// What it calls them: for people to read, and no proof of anything.
    pub(crate) called: String,
}

/// The provider as it is now.
struct Provider {
    client: Client,
    /// Algorithms with a public key by which it signs.
    signs_by: Vec<CoreJwsSigningAlgorithm>,
}

impl SignOn {
    /// Whether the provider answers.
    pub async fn reached(&self) -> Result<(), SignOnFault> {
        self.provider().await.map(drop)
    }

    async fn provider(&self) -> Result<Provider, SignOnFault> {
        let metadata = CoreProviderMetadata::discover_async(self.issuer.clone(), &self.http).await;
        let metadata = metadata.map_err(|why| SignOnFault::Away(ask::with_causes(&why)))?;
        let leads_to = metadata.authorization_endpoint().url();
        if !settings::is_safe(leads_to) {
            let why = format!("it would lead browsers to {leads_to}, without encryption");
            return Err(SignOnFault::Away(why));
        }
        let known = metadata.id_token_signing_alg_values_supported().iter();
        // One by a shared secret is not the provider's alone.
        let signs_by = known.filter(|by| !by.uses_shared_secret() && by.key_type().is_some());
        let signs_by = signs_by.cloned().collect();
        let auth = how_to_prove_ourselves(&metadata);
        let client = CoreClient::from_provider_metadata(
            metadata,
            self.client.clone(),
            Some(self.secret.clone()),
        );
        let client = client
            .set_auth_type(auth)
            .set_redirect_uri(self.back.clone());
        Ok(Provider { client, signs_by })
    }

    /// Where to send a browser that begins a sign-on.
    pub(crate) async fn leads_to(&self, one: &OneSignOn) -> Result<Url, SignOnFault> {
        let provider = self.provider().await?;
        let proof = PkceCodeVerifier::new(one.proof_key());
        let (state, nonce) = (CsrfToken::new(one.state()), Nonce::new(one.nonce()));
        let (address, _, _) = provider
            .client
            .authorize_url(
                CoreAuthenticationFlow::AuthorizationCode,
                || state,
                || nonce,
            )
            .add_scope(Scope::new("profile".to_owned()))
            .set_pkce_challenge(PkceCodeChallenge::from_code_verifier_sha256(&proof))
            .url();
        Ok(address)
    }

    /// For whom the provider vouches with a code that a browser brought back.
    pub(crate) async fn vouched(
        &self,
        (one, code): (&OneSignOn, String),
        now: Instant,
    ) -> Result<Vouched, SignOnFault> {
        let provider = self.provider().await?;
        let exchange = provider.client.exchange_code(AuthorizationCode::new(code));
        let exchange = exchange.map_err(|why| SignOnFault::Away(ask::with_causes(&why)))?;
        let exchange = exchange.set_pkce_verifier(PkceCodeVerifier::new(one.proof_key()));
        let answer = exchange
            .request_async(&self.http)
            .await
            .map_err(|why| match why {
                RequestTokenError::ServerResponse(why) => SignOnFault::Code(why.to_string()),
                other => SignOnFault::Away(ask::with_causes(&other)),
            })?;
        let token = answer.id_token().ok_or(SignOnFault::NoToken)?;
        let verifier = provider.verifier(now);
        let claims = token.claims(&verifier, &Nonce::new(one.nonce()))?;
        self.person(claims)
    }

    /// Item 5 of `OpenID` Connect Core 1.0, section 3.1.3.7, which the library leaves to us, and
    /// who it is.
    fn person(&self, claims: &CoreIdTokenClaims) -> Result<Vouched, SignOnFault> {
        if claims
            .authorized_party()
            .is_some_and(|party| *party != self.client)
        {
            return Err(SignOnFault::OtherClient);
        }
        let named = claims.name().and_then(|names| names.get(None));
        let named = named.map(|name| name.as_str());
        let named = named.or_else(|| claims.preferred_username().map(|name| name.as_str()));
        Ok(Vouched {
            identity: OutsideIdentity::new(claims.issuer().as_str(), claims.subject().as_str())?,
            called: called(named.unwrap_or_default()),
        })
    }
}

impl Provider {
    fn verifier(&self, now: Instant) -> CoreIdTokenVerifier<'_> {
        let since = u64::try_from(now.microseconds()).unwrap_or(0);
        let now = UNIX_EPOCH + Duration::from_micros(since);
        let verifier = self.client.id_token_verifier();
        let verifier = verifier.set_allowed_algs(self.signs_by.clone());
        verifier.set_time_fn(move || now.into())
    }
}

/// In the header, unless the provider wants the secret in the body.
fn how_to_prove_ourselves(metadata: &CoreProviderMetadata) -> AuthType {
    let takes = metadata.token_endpoint_auth_methods_supported();
    let takes = |way| takes.is_none_or(|ways: &Vec<CoreClientAuthMethod>| ways.contains(&way));
    if takes(CoreClientAuthMethod::ClientSecretBasic) {
        AuthType::BasicAuth
    } else {
        AuthType::RequestBody
    }
}
