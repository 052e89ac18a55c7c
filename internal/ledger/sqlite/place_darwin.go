package sqlite

import (
	"fmt"
	"os"
	"syscall"
)

// place names the file that a ledger lives in: its number on the file system and
// its birth time, which together tell a new file that got the number of a deleted
// one. The device's number is left out: it changes when disks are plugged in
// another order.
func place(path string) (string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return "", err
	}
	st, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return "file at " + path, nil
	}
	return fmt.Sprintf("file %d of %d.%09d", st.Ino, st.Birthtimespec.Sec, st.Birthtimespec.Nsec), nil
}
