package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/adrg/xdg"

	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/web"
)

var _ web.CatalogDesk = (*desk)(nil)

// shopCatalog is the templates with the shop's files on top, which the page may change. Of
// a demo the changes stay in memory.
type shopCatalog struct {
	mu sync.Mutex
	// inMemory has texts by name of their file; nil where changes are written.
	inMemory map[string][]byte
}

// newShopCatalog returns one that writes, or keeps changes in memory.
func newShopCatalog(inMemory bool) *shopCatalog {
	c := &shopCatalog{}
	if inMemory {
		c.inMemory = map[string][]byte{}
	}
	return c
}

// shopCatalog returns the catalog of all benches of this run. A demo that keeps no settings
// keeps no catalog either.
func (s *server) shopCatalog(r round) *shopCatalog {
	if s.catalog == nil {
		s.catalog = newShopCatalog(r.file == "")
	}
	return s.catalog
}

// folder is where the shop's files are, or would be.
func (*shopCatalog) folder() string {
	if found, err := xdg.SearchConfigFile(editsFolder); err == nil {
		return found
	}
	return filepath.Join(xdg.ConfigHome, editsFolder)
}

// load returns the catalog as it is now.
func (c *shopCatalog) load() (catalog.Catalog, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	files, err := c.files()
	if err != nil {
		return catalog.Catalog{}, err
	}
	return c.laid(files)
}

// files are the shop's files by their name.
func (c *shopCatalog) files() (map[string][]byte, error) {
	files := map[string][]byte{}
	folder := c.folder()
	paths, err := editsAt(folder)
	if _, missing := os.Stat(folder); errors.Is(missing, fs.ErrNotExist) {
		paths, err = nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the shop's catalog: %w", err)
	}
	for _, path := range paths {
		if files[filepath.Base(path)], err = os.ReadFile(path); err != nil {
			return nil, fmt.Errorf("read the shop's catalog: %w", err)
		}
	}
	maps.Copy(files, c.inMemory)
	return files, nil
}

// laid lays files on the templates in the order of their names, as the commands do.
func (c *shopCatalog) laid(files map[string][]byte) (catalog.Catalog, error) {
	known, err := catalog.Templates()
	if err != nil {
		return known, err
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if len(files[name]) == 0 {
			continue
		}
		if known, err = known.Edit(filepath.Join(c.folder(), name), files[name]); err != nil {
			return known, err
		}
	}
	return known, nil
}

// fileOf is the name of an instrument's file; its own must not lead out of the folder.
func fileOf(instrument string) (string, error) {
	name := instrument + ".toml"
	if !filepath.IsLocal(name) || strings.ContainsAny(name, `/\:`) {
		return "", &web.Fault{Field: "name", Says: fmt.Sprintf("No file can be called %q: use letters, digits and - only.", name)}
	}
	return name, nil
}

// keep puts what change makes of a file's text in its place.
func (c *shopCatalog) keep(instrument string, change func([]byte) ([]byte, error)) error {
	name, err := fileOf(instrument)
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	files, err := c.files()
	if err != nil {
		return err
	}
	before := files[name]
	text, err := change(before)
	if err != nil {
		return &web.Fault{Says: said(err)}
	}
	files[name] = text
	if _, err := c.laid(files); err != nil {
		return err
	}
	if c.inMemory != nil {
		c.inMemory[name] = text
		return nil
	}
	return c.write(filepath.Join(c.folder(), name), before, text)
}

// write puts a text in the place of another, which stays beside it: comments between its
// lines are only there.
func (c *shopCatalog) write(path string, before, text []byte) error {
	whole := func(with []byte) func([]byte) ([]byte, error) {
		return func([]byte) ([]byte, error) { return with, nil }
	}
	if len(before) > 0 {
		if err := config.Save(path+".before", whole(before)); err != nil {
			return fmt.Errorf("keep the shop's catalog as it was: %w", err)
		}
	}
	if len(text) == 0 {
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("take the shop's file away: %w", err)
		}
		return nil
	}
	if err := config.Save(path, whole(text)); err != nil {
		return fmt.Errorf("write the shop's catalog: %w", err)
	}
	return nil
}

// Catalog implements [web.CatalogDesk].
func (d *desk) Catalog(context.Context) (catalog.Catalog, error) { return d.catalog() }

// ShopFile implements [web.CatalogDesk].
func (d *desk) ShopFile(_ context.Context, instrument string) (web.ShopFile, error) {
	c := d.page.catalog
	name, err := fileOf(instrument)
	if err != nil {
		return web.ShopFile{}, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	files, err := c.files()
	file := web.ShopFile{Text: files[name]}
	if c.inMemory == nil {
		file.Path = filepath.Join(c.folder(), name)
	}
	return file, err
}

// KeepShopFile implements [web.CatalogDesk].
func (d *desk) KeepShopFile(_ context.Context, instrument string, change func([]byte) ([]byte, error)) error {
	return d.page.catalog.keep(instrument, change)
}
