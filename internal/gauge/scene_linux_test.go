package gauge_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
)

// plant writes files below a folder.
func plant(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	return dir
}

func TestABridgeWithoutAPortIsSeen(t *testing.T) {
	bridge := map[string]string{"1-2/idVendor": "1a86\n", "1-2/idProduct": "7523\n", "1-2/1-2:1.0/bInterfaceNumber": "00\n"}
	assert.Equal(t, "1a86:7523", gauge.PortlessBridge(plant(t, bridge)))
	bridge["1-2/1-2:1.0/ttyUSB0/port_number"] = "0\n"
	assert.Empty(t, gauge.PortlessBridge(plant(t, bridge)), "it has its port")
	assert.Empty(t, gauge.PortlessBridge(plant(t, map[string]string{"1-1/idVendor": "046d\n", "1-1/idProduct": "c52b\n"})), "no bridge")
	assert.Empty(t, gauge.PortlessBridge(t.TempDir()), "no USB at all")
}

func TestLinuxInsideWindowsIsSeen(t *testing.T) {
	dir := plant(t, map[string]string{"wsl": "5.15.153.1-microsoft-standard-WSL2\n", "linux": "6.1.0-25-amd64\n"})
	assert.True(t, gauge.IsWSL(filepath.Join(dir, "wsl")))
	assert.False(t, gauge.IsWSL(filepath.Join(dir, "linux")))
	assert.False(t, gauge.IsWSL(filepath.Join(dir, "none")))
}

func TestTheGroupOfADeviceIsNamed(t *testing.T) {
	dir := plant(t, map[string]string{"shut": ""})
	_, shut := gauge.GroupOf(filepath.Join(dir, "shut"))
	assert.True(t, shut)
	usual, shut := gauge.GroupOf(filepath.Join(dir, "none"))
	assert.False(t, shut)
	assert.Contains(t, []string{"dialout", "uucp"}, usual)
	if os.Getuid() != 0 {
		return // only root can give a file away
	}
	open := filepath.Join(plant(t, map[string]string{"open": ""}), "open")
	require.NoError(t, os.Chown(open, -1, 5))
	require.NoError(t, os.Chmod(open, 0o660))
	name, shut := gauge.GroupOf(open)
	assert.False(t, shut)
	assert.Equal(t, "tty", name)
}
