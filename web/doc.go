// Package web is the pages: the talk for owners, the cases for volunteers, what
// closed cases teach for the vendor, and a rule's page for keepers.
//
//	s, err := web.New(web.Config{KB: k, Engine: engine, Store: store, ...})
//	http.Serve(listener, s)
//
// Pages are written on the server and work without script; script adds that what
// changes appears without reloading, and that only the changed part is put in
// place (static/follow.js). Nothing is fetched from anywhere else. Everything a
// person wrote goes through html/template.
//
// # A new page
//
// A page is a template in pages/NAME.html and a function that gives it its data:
//
//	func (s *Server) vendorPages() { // called in routes()
//		s.page("GET /learned", desk.Vendor, s.learned)
//		s.file("GET /learned/rising.csv", desk.Vendor, s.risingCSV)
//		s.act("POST /learned/priors", desk.Keeper, s.usePriors)
//	}
//
//	func (s *Server) learned(a *asking) (view, error) {
//		return view{Page: "vendor-learned", Title: "What fails", Data: ...}, nil
//	}
//
// The template defines "main", and inside it .Data is the function's:
//
//	{{define "main"}}
//	<h1 tabindex="-1" data-focus>What fails</h1>
//	<section class="sheet" id="rising" data-live> ... {{.Data.Rising}} ... </section>
//	{{end}}
//
// page shows a view; act does something a form asks for and then sends the
// browser to the address it returns; file writes a download. All three take a
// pattern of http.ServeMux, the role that is needed (nobody for everyone; who is
// not signed in is sent to sign in and comes back; a keeper may all of it), and know who asks (asking).
// What should be said to people is a refusal (refuse); every other error is
// logged and shown as a fixed sentence.
//
// A form to act needs {{template "form" .}} inside: it carries what proves that
// the form is ours. A place in the navigation is a line in navigation.
//
// An element with an id and data-live is put in place anew when the page's news
// (view.Follow) say that something changed, unless somebody is typing in it.
// What an element with id "news" says is read out politely.
//
// The look is in static/style.css, by element and a few classes: sheet (a page's
// piece), wide (a page that needs more than one column), cols (columns that
// fold), quiet (less loud), tag (a word with a frame), pair (name and value),
// act (a button that does the main thing), plain (a button like a link), scroll
// (a table that may be wider than a phone). Colours are variables and have a
// dark twin; an inline style is refused by the content security policy, so
// widths of bars are attributes of SVG.
package web
