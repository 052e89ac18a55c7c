package gauge

func listed(string) bool { return true }

// noted adds nothing: whether a port is in use shows only when it is opened, which
// may reset a gauge.
func noted(p Port) Port { return p }
