package trace

// ReadAtMost is Read with a bound on the readings that a test can reach.
var ReadAtMost = read
