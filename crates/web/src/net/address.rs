//! Under which addresses a phone in the same network reaches this machine.

use std::net::{IpAddr, Ipv4Addr, UdpSocket};

/// Addresses of this machine that are never routed on the internet, the one that most likely leads here first.
pub fn local() -> Vec<Ipv4Addr> {
    let all = if_addrs::get_if_addrs().unwrap_or_default();
    let of_v4 = all.iter().filter_map(|it| match it.ip() {
        IpAddr::V4(it) => Some(it),
        IpAddr::V6(_) => None,
    });
    let mut local: Vec<Ipv4Addr> = of_v4.filter(|it| stays_local(*it)).collect();
    local.sort_unstable();
    local.dedup();
    let usual = usual();
    local.sort_by_key(|it| Some(*it) != usual);
    local
}

/// Whether an address is for local networks only: RFC 6890, table of special-purpose addresses (private use, link local,
/// shared, documentation). What the internet could reach is never opened.
fn stays_local(it: Ipv4Addr) -> bool {
    let [a, b, ..] = it.octets();
    let shared = a == 100 && (64..128).contains(&b);
    it.is_private() || it.is_link_local() || it.is_documentation() || shared
}

/// The address that this machine would send from; nothing is sent to find out.
fn usual() -> Option<Ipv4Addr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect((Ipv4Addr::new(198, 51, 100, 1), 9)).ok()?; // of the range for documentation
    match socket.local_addr().ok()?.ip() {
        IpAddr::V4(it) => Some(it),
        IpAddr::V6(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 6890, sections 2.2.2 and 2.2.3, with neighbours of each range that are not in it.
    #[test]
    fn ref_only_addresses_of_local_networks_are_opened() {
        let local = [
            "10.0.0.1",
            "172.16.0.1",
            "172.31.255.254",
            "192.168.178.20",
            "169.254.3.4",
            "100.64.0.1",
            "192.0.2.2",
        ];
        let routed = [
            "8.8.8.8",
            "172.32.0.1",
            "172.15.0.1",
            "192.167.0.1",
            "100.128.0.1",
            "11.0.0.1",
            "127.0.0.1",
            "0.0.0.0",
        ];
        for (all, expected) in [(&local[..], true), (&routed[..], false)] {
            for it in all {
                assert_eq!(
                    stays_local(it.parse().expect("an address")),
                    expected,
                    "{it}"
                );
            }
        }
    }
}
