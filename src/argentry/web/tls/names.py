"""Names, addresses and uses as certificates hold them."""

from __future__ import annotations

import ipaddress
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cryptography import x509

    Network = ipaddress.IPv4Network | ipaddress.IPv6Network

LOCAL_NAMES = ("localhost", "local", "test", "home.arpa", "lan", "internal")
LOCAL_NETWORKS = (
    "127.0.0.0/8",
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "::1/128",
    "fc00::/7",
    "fe80::/10",
    "100.64.0.0/10",
)  # RFC 1122, 1918, 3927, 4291, 4193, 6598


def general_name(name: str) -> x509.GeneralName:
    """Return a name or an address as a certificate holds it."""
    from cryptography import x509

    bare = name.strip("[]").split("%")[0]
    try:
        return x509.IPAddress(ipaddress.ip_address(bare))
    except ValueError:
        return x509.DNSName(bare)


def is_address(name: Any) -> bool:
    """Return True when a certificate's name is an address."""
    from cryptography import x509

    return isinstance(name, x509.IPAddress)


def is_local(name: str, domains: tuple[str, ...], networks: tuple[Network, ...]) -> bool:
    """Return True when a name or address lies within these domains or networks."""
    bare = name.strip("[]").split("%")[0]
    try:
        address = ipaddress.ip_address(bare)
    except ValueError:
        return any(bare == domain or bare.endswith(f".{domain}") for domain in domains)
    return any(address in network for network in networks)


def permitted_of(authority: x509.Certificate) -> tuple[tuple[str, ...], tuple[Network, ...]]:
    """Return the domains and networks an authority may vouch for."""
    from cryptography import x509

    allowed = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    subtrees = allowed.permitted_subtrees or []
    domains = tuple(str(part.value) for part in subtrees if isinstance(part, x509.DNSName))
    networks = tuple(
        part.value
        for part in subtrees
        if isinstance(part, x509.IPAddress)
        and isinstance(part.value, (ipaddress.IPv4Network, ipaddress.IPv6Network))
    )
    return domains, networks


def common_name(common: str) -> x509.Name:
    """Return the name that a tablet's list of authorities shows."""
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])


def key_usage(*, authority: bool) -> x509.KeyUsage:
    """Return what a key may do: an authority's sign certificates, a server's sign its greetings."""
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not authority,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=authority,
        crl_sign=authority,
        encipher_only=False,
        decipher_only=False,
    )
