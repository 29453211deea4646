//! What holds for all paths of the description: the ways to be known, and what a question that
//! cannot be read is answered with.

use super::problem::{MEDIA_TYPE, Problem};
use crate::session::cookie_name;
use crate::state::Mode;
use utoipa::openapi::security::{
    ApiKey, ApiKeyValue, HttpAuthScheme, HttpBuilder, SecurityRequirement, SecurityScheme,
};
use utoipa::openapi::{Components, ContentBuilder, OpenApi, Ref, ResponseBuilder};
use utoipa::{PartialSchema, ToSchema};

/// A program's own token.
const TOKEN: &str = "token";
/// A session's cookie.
const SESSION: &str = "session";
/// The form token of a session.
const FORM_TOKEN: &str = "form_token";

/// Adds the ways to be known, which of them recording needs, and the answer to a question that
/// cannot be read.
pub(super) fn complete(mut described: OpenApi) -> OpenApi {
    let components = described.components.get_or_insert_default();
    add_schemes(components);
    let problem = <Problem as ToSchema>::name().into_owned();
    components
        .schemas
        .insert(problem.clone(), Problem::schema());
    for path in described.paths.paths.values_mut() {
        for operation in path.get.iter_mut().chain(&mut path.post) {
            let content = ContentBuilder::new().schema(Some(Ref::from_schema_name(&problem)));
            let unread = ResponseBuilder::new()
                .description("A parameter or the body cannot be read")
                .content(MEDIA_TYPE, content.build())
                .build();
            let responses = &mut operation.responses.responses;
            responses.entry("400".to_owned()).or_insert(unread.into());
        }
        if let Some(recording) = &mut path.post {
            let by_token = SecurityRequirement::new::<_, _, String>(TOKEN, []);
            let by_session = SecurityRequirement::new::<_, _, String>(SESSION, []);
            let by_session = by_session.add::<_, _, String>(FORM_TOKEN, []);
            recording.security = Some(vec![by_token, by_session]);
        }
    }
    described
}

fn add_schemes(components: &mut Components) {
    let token = HttpBuilder::new()
        .scheme(HttpAuthScheme::Bearer)
        .description(Some(
            "A token that a person made for a program on the page of their account",
        ));
    let session = ApiKeyValue::with_description(
        cookie_name(Mode::Register),
        "The cookie that signing in gives; in the demo its name is without __Host-",
    );
    let form_token = ApiKeyValue::with_description(
        "X-Form-Token",
        "The form token of the session, from /api/v1/session",
    );
    let schemes = [
        (TOKEN, SecurityScheme::Http(token.build())),
        (SESSION, SecurityScheme::ApiKey(ApiKey::Cookie(session))),
        (
            FORM_TOKEN,
            SecurityScheme::ApiKey(ApiKey::Header(form_token)),
        ),
    ];
    for (name, scheme) in schemes {
        components.add_security_scheme(name, scheme);
    }
}
