package certificate

import (
	"cmp"
	"crypto/x509"
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"
	"unicode"
)

// Names is what a page may be asked for as.
type Names struct {
	// Machine is the machine's name, for people, without what follows the first point.
	Machine string
	// Hosts are names, in lower case.
	Hosts []string
	// Addresses are the machine's own, loopback among them.
	Addresses []netip.Addr
}

// Present returns the names and addresses that this machine has now, with further ones
// told, which may be either.
func Present(further []string) Names {
	n := Names{Machine: "this machine", Addresses: Addresses()}
	hosts := []string{"localhost"}
	if machine, err := os.Hostname(); err == nil && machine != "" {
		short, _, _ := strings.Cut(machine, ".")
		n.Machine = short
		hosts = append(hosts, machine, short, short+".local") // as machines of one network find each other (RFC 6762)
	}
	for _, name := range further {
		if a, err := netip.ParseAddr(strings.Trim(name, "[]")); err == nil {
			n.Addresses = append(n.Addresses, a)
		} else if name != "" {
			hosts = append(hosts, name)
		}
	}
	for i := range hosts {
		hosts[i] = strings.ToLower(strings.TrimSuffix(hosts[i], "."))
	}
	slices.Sort(hosts)
	// A certificate holds names as they are asked for, which is in ASCII.
	n.Hosts = slices.DeleteFunc(slices.Compact(hosts), func(h string) bool {
		return strings.ContainsFunc(h, func(r rune) bool { return r > unicode.MaxASCII })
	})
	slices.SortFunc(n.Addresses, netip.Addr.Compare)
	n.Addresses = slices.Compact(n.Addresses)
	return n
}

// Addresses returns the addresses of this machine, those by which others in the shop
// reach it first: of private networks (RFC 1918) before others, version 4 before 6,
// loopback last. Those that hold on one link only are left out: no page is asked for by
// them.
func Addresses() []netip.Addr {
	found, err := net.InterfaceAddrs()
	if err != nil {
		return []netip.Addr{netip.AddrFrom4([4]byte{127, 0, 0, 1}), netip.IPv6Loopback()}
	}
	var all []netip.Addr
	for _, f := range found {
		network, ok := f.(*net.IPNet)
		if !ok {
			continue
		}
		a, ok := netip.AddrFromSlice(network.IP)
		if a = a.Unmap(); ok && !a.IsLinkLocalUnicast() && !a.IsMulticast() {
			all = append(all, a)
		}
	}
	rank := func(a netip.Addr) int {
		switch {
		case a.IsLoopback():
			return 3
		case a.Is6():
			return 2
		case a.IsPrivate():
			return 0
		}
		return 1
	}
	slices.SortStableFunc(all, func(a, b netip.Addr) int { return cmp.Compare(rank(a), rank(b)) })
	return all
}

// coveredBy reports whether a certificate holds for all the names. Addresses of version
// 6 do not count: many systems take new ones each day, and a tablet that trusts the
// certificate would have to be asked anew as often.
func (n Names) coveredBy(c *x509.Certificate) bool {
	for _, h := range n.Hosts {
		if !slices.Contains(c.DNSNames, h) {
			return false
		}
	}
	for _, a := range n.Addresses {
		if a.Is4() && !slices.ContainsFunc(c.IPAddresses, net.IP(a.AsSlice()).Equal) {
			return false
		}
	}
	return true
}
