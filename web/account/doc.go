// Package account keeps who may sign in, with what roles, and who is signed in,
// among the settings of the store:
//
//	b := account.New(s, time.Now)
//	err := b.Add(ctx, account.Account{Name: "local:anna", Roles: []desk.Role{"volunteer"}}, password)
//	a, err := b.SignIn(ctx, "anna", password)
//	token, session, err := b.Open(ctx, a.Name)
//	a, session, err = b.Signed(token)
//
// A password is kept as an argon2id hash in its usual written form, a session
// under the hash of its token: who reads the store can sign in with neither.
// Names carry where they come from, local:anna or discord:123, so that one kind
// cannot be taken for the other. A Book is safe for concurrent use.
package account
