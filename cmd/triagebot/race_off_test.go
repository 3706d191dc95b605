//go:build !race

package main

// underRace: the race detector makes a start of the program several times as long.
const underRace = false
