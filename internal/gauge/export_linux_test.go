package gauge

// Seams for tests of what can be seen on this system alone.
var (
	HolderOf       = holderOf
	IsWSL          = isWSL
	PortlessBridge = portlessBridge
	GroupOf        = groupOf
)
