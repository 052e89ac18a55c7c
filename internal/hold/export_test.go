package hold

// Kept returns how many readings and blocks the finder holds on to.
func Kept(f *Finder) (readings, blocks int) { return len(f.buf), len(f.blocks) }

// Capacity returns how many readings fit into the finder's buffer before it grows.
func Capacity(f *Finder) int { return cap(f.buf) }
