package sqlite

import (
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// place names the file that a ledger lives in: its number on the file system and
// its birth time, which together tell a new file that got the number of a deleted
// one. Where no birth time is known the path stands in for it. The device's number
// is left out: it changes when disks are plugged in another order.
func place(path string) (string, error) {
	var st unix.Statx_t
	err := unix.Statx(unix.AT_FDCWD, path, 0, unix.STATX_INO|unix.STATX_BTIME, &st)
	if err != nil {
		return "", &os.PathError{Op: "statx", Path: path, Err: err}
	}
	if st.Mask&unix.STATX_BTIME == 0 {
		return fmt.Sprintf("file %d at %s", st.Ino, path), nil
	}
	return fmt.Sprintf("file %d of %d.%09d", st.Ino, st.Btime.Sec, st.Btime.Nsec), nil
}
