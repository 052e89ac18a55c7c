package sqlite

import (
	"fmt"
	"os"
	"syscall"
)

// place names the file that a ledger lives in: the number of its volume and its
// own, which NTFS does not give twice, and its birth time, which tells more where
// numbers are given again (FAT).
func place(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	var info syscall.ByHandleFileInformation
	if err := syscall.GetFileInformationByHandle(syscall.Handle(f.Fd()), &info); err != nil {
		return "", &os.PathError{Op: "GetFileInformationByHandle", Path: path, Err: err}
	}
	return fmt.Sprintf("file %08x-%08x%08x of %d", info.VolumeSerialNumber, info.FileIndexHigh, info.FileIndexLow,
		info.CreationTime.Nanoseconds()), nil
}
