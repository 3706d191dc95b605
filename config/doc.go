// Package config reads the file that `triagebot serve` goes by.
//
//	c, found := config.Load("triagebot.yaml", os.Getenv)
//
// What is wrong is told with file, line and column, what it is, and how to mend
// it; all of it at once, not one a run. The file holds no secret: a token is
// named by the variable of the environment or the file it is in, and that file
// must be readable by nobody else.
package config
