// Package api is the bot's local interface over HTTP: volunteers work cases with
// it from the command line, and a chat that has no adapter of its own can be
// bridged over it.
//
//	h, err := api.New(api.Config{Desk: d, Store: s, Runner: r, Keys: keys, ...})
//	err = http.Serve(listener, h)
//
//	c := &api.Client{URL: "http://127.0.0.1:8470", Token: token}
//	one, err := c.Take(ctx, 17)
//
// Every request carries a token, and the token says who asks; what they may do
// is the desk's business. Requests and answers are JSON objects with "v": 1.
//
//	GET  /v1/cases?state=waiting|taken|closed&mine=1&after=N&limit=N
//	GET  /v1/cases/N                     the case, its audit and its document
//	POST /v1/cases/N/take
//	POST /v1/cases/N/note                {"text"}
//	POST /v1/cases/N/ask                 {"check"}
//	POST /v1/cases/N/hand-on             {"to"}: "" for whoever takes it
//	POST /v1/cases/N/close               {"cause","remedy","text"} or {"not_found":true}
//	POST /v1/cases/N/reopen
//	POST /v1/forget                      {"owner"}
//	GET  /v1/backup                      the store as a file
//	POST /v1/messages                    {"id","conversation","owner","server","text"}, for a bridge
//
// A refusal is {"v":1,"error":WORDS,"code":CODE}, with "by" where somebody has
// the case.
package api
