// Package fakeplatform is the chat platform on loopback, for tests: its REST
// interface and its gateway, as far as the adapter in discord/ uses them, with the
// limits, refusals and faults of the real one.
//
//	p := fakeplatform.Start(time.Now)
//	defer p.Close()
//	guild := p.Guild("Saltmarsh Wheelers")
//	channel := p.Channel(guild, "help")
//	owner := p.User("ada")
//	p.Post(owner, channel, "dead throttle")
//
// People act through methods such as [Platform.Post], [Platform.Press] and
// [Platform.Command]; the bot acts through HTTP and the websocket. What the bot
// does that the platform would refuse or that would ping somebody is answered as
// the platform answers it and kept for [Platform.Complaints].
//
// Faults are set with [Platform.OnRequest] for REST and with the methods in
// fault.go for the gateway.
package fakeplatform
