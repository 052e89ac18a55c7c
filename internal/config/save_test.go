package config_test

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
)

func named(name string) func([]byte) ([]byte, error) {
	return func(text []byte) ([]byte, error) { return config.Edit(text, config.Set("bench", name)) }
}

func TestASavedFileIsMadeWithItsFolderForItsOwnerAlone(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "new", "deep", "boretight.toml")
	require.NoError(t, config.Save(path, named("window")))
	c, err := config.Load(path)
	require.NoError(t, err)
	assert.Equal(t, "window", c.Bench)
	if runtime.GOOS != "windows" {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
}

func TestAFileThatIsSavedAgainKeepsItsModeAndItsLink(t *testing.T) {
	t.Parallel()
	if runtime.GOOS == "windows" {
		return // neither modes nor links for everybody
	}
	folder := t.TempDir()
	path, link := filepath.Join(folder, "real.toml"), filepath.Join(folder, "link.toml")
	require.NoError(t, os.WriteFile(path, []byte("# mine\nbench = \"a\"\n"), 0o600))
	require.NoError(t, os.Chmod(path, 0o664))
	require.NoError(t, os.Symlink(path, link))
	require.NoError(t, config.Save(link, named("b")))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "# mine\nbench = \"b\"\n", string(text))
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o664), info.Mode().Perm())
	info, err = os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink, "the link is one still")
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing is left beside it")
}

func TestAFileStaysAsItWasWhenItsEditFails(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "boretight.toml")
	require.NoError(t, os.WriteFile(path, []byte("bench = one\n"), 0o600))
	err := config.Save(path, named("b"))
	require.ErrorContains(t, err, path)
	require.ErrorContains(t, err, "line 1, column 9")
	refused := errors.New("refused")
	require.ErrorIs(t, config.Save(path, func([]byte) ([]byte, error) { return nil, refused }), refused)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "bench = one\n", string(text))
}

func TestNothingIsWrittenWhenNothingChanges(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "none", "boretight.toml")
	require.NoError(t, config.Save(path, func(text []byte) ([]byte, error) { return text, nil }))
	assert.NoDirExists(t, filepath.Dir(path))
}

func TestASaveThatCannotTakeItsPlaceLeavesNothingBeside(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "boretight.toml")
	err := config.Save(path, func([]byte) ([]byte, error) { // somebody is faster
		return []byte("bench = \"a\"\n"), os.MkdirAll(filepath.Join(path, "taken"), 0o700)
	})
	require.ErrorContains(t, err, "save settings "+path)
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	assert.Len(t, left, 1)
}

func TestASaveSaysWhyItCannot(t *testing.T) {
	t.Parallel()
	err := config.Save(t.TempDir(), named("a"))
	assert.ErrorContains(t, err, "save settings: ")
}

func TestThePathIsTheOneThatIsTold(t *testing.T) {
	t.Parallel()
	told := filepath.Join(t.TempDir(), "boretight.toml")
	path, err := config.Path(told)
	require.NoError(t, err)
	assert.Equal(t, told, path)
	usual, err := config.Path("")
	require.NoError(t, err)
	assert.True(t, filepath.IsAbs(usual))
	assert.Equal(t, filepath.Base(config.FileName), filepath.Base(usual))
}
