package copies

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"
)

const (
	prefix = "ledger-"
	suffix = ".boretight"
	// lineLetters of the line are enough to tell the ledgers of a shop apart.
	lineLetters = 8
	// stamp has no colon, which some file systems do not take.
	stamp = "20060102T150405Z"
	// abandoned is the age from which on a part of a copy is nobody's: a copy takes
	// minutes at most.
	abandoned = time.Hour
)

// file is a copy in the folder.
type file struct {
	name   string
	number int64
	made   time.Time // by the wall clock of that time, UTC
}

func (k *Keeper) name(number int64, made time.Time) string {
	return fmt.Sprintf("%s%s-%06d-%s%s", prefix, k.line, number, made.Format(stamp), suffix)
}

// parse reads the name of a copy of this ledger.
func (k *Keeper) parse(name string) (file, bool) {
	rest, ours := strings.CutPrefix(name, prefix+k.line+"-")
	rest, whole := strings.CutSuffix(rest, suffix)
	number, made, two := strings.Cut(rest, "-")
	n, err1 := strconv.ParseInt(number, 10, 64)
	t, err2 := time.Parse(stamp, made)
	return file{name, n, t}, ours && whole && two && n > 0 && errors.Join(err1, err2) == nil
}

// list returns the copies of this ledger, oldest first.
func (k *Keeper) list() ([]file, error) {
	entries, err := os.ReadDir(k.folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("folder of copies %s is not there: plug its disk in or make the folder", k.folder)
	case err != nil:
		return nil, fmt.Errorf("look into the folder of copies: %w", err)
	}
	var all []file
	for _, e := range entries {
		if f, ok := k.parse(e.Name()); ok && e.Type().IsRegular() {
			all = append(all, f)
		}
	}
	slices.SortFunc(all, func(a, b file) int { return cmp.Or(cmp.Compare(a.number, b.number), a.made.Compare(b.made)) })
	return all, nil
}

// tidy removes the oldest copies beyond [Kept], and the parts that a killed program
// left.
func (k *Keeper) tidy(all []file) error {
	var faults []error
	for _, f := range all[:max(0, len(all)-Kept)] {
		if err := os.Remove(filepath.Join(k.folder, f.name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			faults = append(faults, fmt.Errorf("remove the oldest copy: %w", err))
		}
	}
	entries, err := os.ReadDir(k.folder)
	if err != nil {
		return errors.Join(append(faults, err)...)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), prefix+k.line+"-") || !strings.Contains(e.Name(), suffix+".part-") {
			continue
		}
		if info, err := e.Info(); err == nil && k.now().Sub(info.ModTime()) > abandoned {
			_ = os.Remove(filepath.Join(k.folder, e.Name())) // another look will try again; it harms nobody
		}
	}
	return errors.Join(faults...)
}
