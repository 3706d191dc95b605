package discord

// Inside the package, for tests.
var (
	Split = split
	Size  = size
)
