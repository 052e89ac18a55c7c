package certificate

import (
	"bytes"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// FileName is the name of the kept certificate in its folder: certificate and key in one
// file, so that they always belong together.
const FileName = "page-certificate.pem"

// The types of the blocks in the file.
const (
	certificateBlock = "CERTIFICATE"
	keyBlock         = "PRIVATE KEY"
)

// Keep returns the certificate kept in a folder. It makes one, and the folder, where
// there is none, where the one kept cannot be read, ends within 30 days, or does not hold
// for one of the names; made says so. The file is for this user alone.
func Keep(folder string, names Names, now time.Time) (c tls.Certificate, made bool, err error) {
	path := filepath.Join(folder, FileName)
	c, err = Kept(folder)
	if err == nil && now.After(c.Leaf.NotBefore) && now.Before(c.Leaf.NotAfter.Add(-renewBefore)) && names.coveredBy(c.Leaf) {
		return c, false, nil
	}
	// One that cannot be opened could not be replaced either.
	if err != nil && !errors.Is(err, errDamaged) && !errors.Is(err, fs.ErrNotExist) {
		return c, false, err
	}
	if c, err = Make(names, now); err != nil {
		return c, false, err
	}
	if err := write(path, c); err != nil {
		return c, false, fmt.Errorf("keep the page's certificate: %w", err)
	}
	return c, true, nil
}

var errDamaged = errors.New("it is damaged")

// Kept returns the certificate kept in a folder as it is. Its error is fs.ErrNotExist
// where there is none.
func Kept(folder string) (tls.Certificate, error) {
	path := filepath.Join(folder, FileName)
	text, err := os.ReadFile(path)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("read the page's certificate: %w", err)
	}
	// Each half takes the block that it knows.
	c, err := tls.X509KeyPair(text, text)
	if err != nil {
		return c, fmt.Errorf("read the page's certificate %s: %w: %w", path, errDamaged, err)
	}
	return c, nil
}

// write puts the file in its place whole, or not at all.
func write(path string, c tls.Certificate) error {
	key, err := x509.MarshalPKCS8PrivateKey(c.PrivateKey)
	if err != nil {
		return err
	}
	var text bytes.Buffer
	for _, b := range []*pem.Block{{Type: certificateBlock, Bytes: c.Certificate[0]}, {Type: keyBlock, Bytes: key}} {
		if err := pem.Encode(&text, b); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	temporary, err := os.CreateTemp(filepath.Dir(path), FileName+".*") // made for this user alone
	if err != nil {
		return err
	}
	_, err = temporary.Write(text.Bytes())
	err = errors.Join(err, temporary.Close())
	if err == nil {
		err = os.Rename(temporary.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(temporary.Name()))
	}
	return nil
}
