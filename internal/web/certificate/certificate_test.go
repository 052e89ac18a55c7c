package certificate_test

import (
	"crypto/tls"
	"crypto/x509"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/web/certificate"
)

var (
	opened = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	shop   = certificate.Names{
		Machine:   "bench",
		Hosts:     []string{"bench", "bench.local", "localhost"},
		Addresses: []netip.Addr{netip.MustParseAddr("127.0.0.1"), netip.MustParseAddr("192.168.1.20")},
	}
)

func TestACertificateHoldsForItsNamesAndForAYear(t *testing.T) {
	t.Parallel()
	c, err := certificate.Make(shop, opened)
	require.NoError(t, err)
	trusted := x509.NewCertPool()
	trusted.AddCert(c.Leaf)
	for name, holds := range map[string]bool{
		"bench": true, "bench.local": true, "localhost": true, "127.0.0.1": true, "192.168.1.20": true,
		"192.168.1.21": false, "other.local": false,
	} {
		_, err := c.Leaf.Verify(x509.VerifyOptions{DNSName: name, Roots: trusted, CurrentTime: opened.AddDate(1, 0, 0)})
		assert.Equal(t, holds, err == nil, "%s: %v", name, err)
	}
	assert.LessOrEqual(t, c.Leaf.NotAfter.Sub(c.Leaf.NotBefore), 397*24*time.Hour)
	assert.True(t, c.Leaf.NotBefore.Before(opened), "for a clock that is behind")
	assert.False(t, c.Leaf.IsCA, "it vouches for nothing but itself")

	again, err := certificate.Make(shop, opened)
	require.NoError(t, err)
	assert.NotEqual(t, c.Leaf.SerialNumber, again.Leaf.SerialNumber)
	assert.NotEqual(t, certificate.Fingerprint(c), certificate.Fingerprint(again))
}

func TestAFingerprintIsWhatOthersShow(t *testing.T) {
	t.Parallel()
	openssl, err := exec.LookPath("openssl")
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("openssl is not installed")
	}
	require.NoError(t, err)
	folder := t.TempDir()
	c, _, err := certificate.Keep(folder, shop, opened)
	require.NoError(t, err)
	out, err := exec.Command(openssl, "x509", "-in", filepath.Join(folder, certificate.FileName), "-noout", "-fingerprint", "-sha256").Output()
	require.NoError(t, err)
	_, shown, _ := strings.Cut(strings.TrimSpace(string(out)), "=")
	assert.Equal(t, shown, certificate.Fingerprint(c))
	assert.Empty(t, certificate.Fingerprint(tls.Certificate{}))
}

func TestACertificateIsKept(t *testing.T) {
	t.Parallel()
	folder := filepath.Join(t.TempDir(), "boretight")
	first, made, err := certificate.Keep(folder, shop, opened)
	require.NoError(t, err)
	assert.True(t, made)
	if runtime.GOOS != "windows" {
		info, err := os.Stat(filepath.Join(folder, certificate.FileName))
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "the key is for this user alone")
	}
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "nothing else is left")

	fewer := shop
	fewer.Addresses = fewer.Addresses[:1]
	newer := shop
	newer.Addresses = append([]netip.Addr{netip.MustParseAddr("2001:db8::1")}, shop.Addresses...)
	for name, c := range map[string]struct {
		names certificate.Names
		now   time.Time
	}{
		"for the same names":                     {shop, opened},
		"a year later":                           {shop, first.Leaf.NotAfter.Add(-31 * 24 * time.Hour)},
		"without an address that went away":      {fewer, opened},
		"with an address that changes by itself": {newer, opened},
	} {
		again, made, err := certificate.Keep(folder, c.names, c.now)
		require.NoError(t, err, name)
		assert.False(t, made, name)
		assert.Equal(t, certificate.Fingerprint(first), certificate.Fingerprint(again), name)
	}
}

func TestACertificateIsMadeAnew(t *testing.T) {
	t.Parallel()
	moved := shop
	moved.Addresses = []netip.Addr{netip.MustParseAddr("10.0.0.7")}
	renamed := shop
	renamed.Hosts = []string{"bench", "repairs.shop"}
	for name, c := range map[string]struct {
		names  certificate.Names
		now    time.Time
		damage string
	}{
		"when the machine has another address":      {names: moved, now: opened},
		"when it is to have another name":           {names: renamed, now: opened},
		"within a month of its end":                 {names: shop, now: opened.Add((397 - 29) * 24 * time.Hour)},
		"when the clock was ahead when it was made": {names: shop, now: opened.AddDate(-1, 0, 0)},
		"when its file is damaged":                  {names: shop, now: opened, damage: "no certificate"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			folder := t.TempDir()
			first, _, err := certificate.Keep(folder, shop, opened)
			require.NoError(t, err)
			if c.damage != "" {
				require.NoError(t, os.WriteFile(filepath.Join(folder, certificate.FileName), []byte(c.damage), 0o600))
			}
			second, made, err := certificate.Keep(folder, c.names, c.now)
			require.NoError(t, err)
			assert.True(t, made)
			assert.NotEqual(t, certificate.Fingerprint(first), certificate.Fingerprint(second))
			third, made, err := certificate.Keep(folder, c.names, c.now)
			require.NoError(t, err)
			assert.False(t, made, "once")
			assert.Equal(t, certificate.Fingerprint(second), certificate.Fingerprint(third))
		})
	}
}

func TestACertificateThatCannotBeKeptIsAnError(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, _, err := certificate.Keep(filepath.Join(file, "below"), shop, opened)
	assert.ErrorContains(t, err, "the page's certificate")
}

func TestTheShopsOwnCertificateIsLoaded(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	made, _, err := certificate.Keep(folder, shop, opened)
	require.NoError(t, err)
	path := filepath.Join(folder, certificate.FileName)
	loaded, err := certificate.Load(path, path)
	require.NoError(t, err)
	assert.Equal(t, certificate.Fingerprint(made), certificate.Fingerprint(loaded))
	_, err = certificate.Load(path, "")
	assert.ErrorContains(t, err, "tell both")
	_, err = certificate.Load(filepath.Join(folder, "none"), path)
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestTheMachineIsKnownByItsNamesAndAddresses(t *testing.T) {
	t.Parallel()
	n := certificate.Present([]string{"Repairs.Shop.", "192.0.2.9", "[2001:db8::9]", "flöte"})
	_, err := certificate.Make(n, opened)
	require.NoError(t, err, "whatever the names are")
	assert.Subset(t, n.Hosts, []string{"localhost", "repairs.shop"})
	assert.Contains(t, n.Addresses, netip.MustParseAddr("127.0.0.1"))
	assert.Contains(t, n.Addresses, netip.MustParseAddr("192.0.2.9"))
	assert.Contains(t, n.Addresses, netip.MustParseAddr("2001:db8::9"))
	machine, err := os.Hostname()
	require.NoError(t, err)
	machine, _, _ = strings.Cut(machine, ".")
	assert.Equal(t, machine, n.Machine)
	addresses := certificate.Addresses()
	require.NotEmpty(t, addresses)
	assert.True(t, addresses[len(addresses)-1].IsLoopback(), "loopback is the last that others reach")
}

func TestTheConfigurationRefusesOldVersions(t *testing.T) {
	t.Parallel()
	c, err := certificate.Make(shop, time.Now())
	require.NoError(t, err)
	server, client := net.Pipe()
	defer server.Close()
	defer client.Close()
	refused := make(chan error, 1)
	go func() { refused <- tls.Server(server, certificate.Config(c)).Handshake() }()
	//nolint:gosec // an old client is what this is about
	err = tls.Client(client, &tls.Config{InsecureSkipVerify: true, MinVersion: tls.VersionTLS10, MaxVersion: tls.VersionTLS11}).Handshake()
	assert.Error(t, err)
	assert.ErrorContains(t, <-refused, "unsupported versions")
}
