//! The network address that a request comes from: the peer's, or what a proxy of ours says.

use crate::state::WebState;
use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::HeaderMap;
use axum::http::request::Parts;
use std::convert::Infallible;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};

const FORWARDED_FOR: &str = "x-forwarded-for";

/// The network address that a request comes from, as text.
#[derive(Debug, Clone)]
pub(crate) struct Client(pub(crate) String);

impl FromRequestParts<WebState> for Client {
    type Rejection = Infallible;

    async fn from_request_parts(
        parts: &mut Parts,
        state: &WebState,
    ) -> Result<Self, Self::Rejection> {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>();
        let peer = peer.map(|peer| peer.0.ip().to_canonical());
        let client = peer.map(|peer| behind(peer, &parts.headers, &state.proxies));
        let text = client.map_or_else(|| "unknown".to_owned(), shown);
        Ok(Self(text))
    }
}

/// Who stands behind the proxies that we know: of the addresses that each proxy has added, the
/// last that is none of ours. What comes from anybody else is not believed.
fn behind(peer: IpAddr, headers: &HeaderMap, proxies: &[IpAddr]) -> IpAddr {
    let mut client = peer;
    let texts = headers.get_all(FORWARDED_FOR).iter();
    let texts: Vec<&str> = texts.filter_map(|value| value.to_str().ok()).collect();
    let mut said = texts.iter().rev().flat_map(|text| text.rsplit(','));
    while proxies.contains(&client) {
        match said.next().map(|text| text.trim().parse::<IpAddr>()) {
            Some(Ok(before)) => client = before.to_canonical(),
            Some(Err(_)) | None => break,
        }
    }
    client
}

/// An IPv6 client has a whole network of 64 bits to itself and counts as one.
fn shown(client: IpAddr) -> String {
    match client {
        IpAddr::V4(client) => client.to_string(),
        IpAddr::V6(client) if client.is_loopback() => client.to_string(),
        IpAddr::V6(client) => {
            let network = client.to_bits() & !u128::from(u64::MAX);
            format!("{}/64", Ipv6Addr::from_bits(network))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> IpAddr {
        text.parse().expect("an address")
    }

    fn forwarded(texts: &[&str]) -> HeaderMap {
        let values = texts.iter().map(|text| text.parse().expect("a value"));
        let name = |value| (FORWARDED_FOR.parse().expect("a name"), value);
        let mut headers = HeaderMap::new();
        for (name, value) in values.map(name) {
            let _: bool = headers.append::<axum::http::HeaderName>(name, value);
        }
        headers
    }

    #[test]
    fn only_a_known_proxy_is_believed_and_only_what_it_added_itself() {
        let proxies = [address("10.0.0.1"), address("10.0.0.2")];
        let headers = forwarded(&["203.0.113.9, 198.51.100.7", "10.0.0.2"]);
        for (peer, client) in [
            ("10.0.0.1", "198.51.100.7"),
            ("10.0.0.2", "198.51.100.7"),
            ("192.0.2.5", "192.0.2.5"),
        ] {
            assert_eq!(behind(address(peer), &headers, &proxies), address(client));
        }
        let nonsense = forwarded(&["203.0.113.9, nonsense"]);
        assert_eq!(behind(proxies[0], &nonsense, &proxies), proxies[0]);
        assert_eq!(behind(proxies[0], &HeaderMap::new(), &proxies), proxies[0]);
    }

    #[test]
    fn a_network_of_ipv6_counts_as_one_client() {
        assert_eq!(shown(address("2001:db8:1:2:3:4:5:6")), "2001:db8:1:2::/64");
        assert_eq!(shown(address("192.0.2.5")), "192.0.2.5");
    }
}
