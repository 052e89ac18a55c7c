package gauge

// HolderOf is for tests.
var HolderOf = holderOf
