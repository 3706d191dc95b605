package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/web/account"
)

// mostWords is how much of a message is read.
const mostWords = 4000

func (s *Server) ownerPages() {
	s.page("GET /{$}", nobody, s.start)
	s.act("POST /{$}", nobody, s.begin)
	s.page("GET /talk/{token}", nobody, s.talk)
	s.handle("POST /talk/{token}", nobody, s.answer)
	s.file("GET /talk/{token}/picture/{check}", nobody, s.checkPicture)
	s.file("GET /talk/{token}/news", nobody, s.talkNews)
	s.act("POST /talk/{token}/new-link", nobody, s.newLink)
	s.act("POST /talk/{token}/close-link", nobody, s.closeLink)
}

// start is where an owner begins.
func (s *Server) start(*asking) (view, error) {
	var dangers []string
	for _, x := range s.c.KB.Symptoms {
		if x.Danger != "" {
			dangers = append(dangers, x.Name)
		}
	}
	var kits []string
	for _, k := range s.c.KB.Kits {
		if k.ID != s.c.KB.About.Generic {
			kits = append(kits, k.Name)
		}
	}
	return view{Page: "start", Title: "What is wrong?", Data: map[string]any{"Dangers": dangers, "Kits": kits, "Most": mostWords}}, nil
}

// begin opens a conversation with the owner's first message.
func (s *Server) begin(a *asking) (string, error) {
	text := a.PostFormValue("say")
	if plain(text, mostWords) == "" {
		return "/", nil
	}
	if ok, say := s.c.Desk.Fits(text); !ok {
		return "", refuse(http.StatusBadRequest, "Less at once, please", strings.Join(say, " "))
	}
	if !s.limits.talks.allow(s.from(a.Request)) {
		return "", tooMany
	}
	conversation, token := talks+account.Token(), account.Token()
	if err := s.setLink(a.Context(), token, conversation); err != nil {
		return "", err
	}
	return "/talk/" + token + "#now", s.take(a.Context(), conversation, 0, text)
}

var tooMany = refuse(http.StatusTooManyRequests, "That was a lot at once", "Wait a minute, then go on. What you sent before is kept.")

// take gives a message its turn. Its id is its place in the talk, so that a form
// sent twice is one message.
func (s *Server) take(ctx context.Context, conversation string, turn uint64, text string) error {
	return s.c.Turns.Take(ctx, turns.Incoming{
		ID: fmt.Sprintf("%s/%d", conversation, turn), Conversation: conversation, Owner: conversation, Text: text,
	})
}

// talkView is what the page of a talk shows.
type talkView struct {
	talk
	Path      string
	Link      string
	Turn      uint64
	Known     known
	Ended     bool
	Kept      string // what was not taken, because the talk had gone on
	Draft     string
	Most      int
	Leaked    string
	News      string
	Alt       string // of the picture
	End       string // how the talk ended
	EndSays   string
	CanGoBack bool
	Dangers   []string // what to do at once
}

func (s *Server) talkView(a *asking) (talkView, error) {
	_, kept, events, err := s.open(a)
	if err != nil {
		return talkView{}, err
	}
	path := "/talk/" + a.PathValue("token")
	v := talkView{
		talk: s.fold(events), Path: path, Link: s.base(a.Request) + path, Turn: kept.Turns, Most: mostWords, Leaked: leaked,
	}
	v.Known = s.known(v.State)
	v.Ended = v.State.Phase.Ended()
	v.News = news(v.talk)
	v.CanGoBack = len(v.State.Answers) > 0
	if v.Now != nil && v.Now.Picture {
		if p, err := s.drawn(v.State.Kit, v.Now.Check.ID); err == nil {
			v.Alt = p.Alt()
		} else { // the words say it all, too
			s.c.Log.Error("a check could not be drawn", "check", v.Now.Check.ID, "kit", v.State.Kit, "error", err)
			v.Now.Picture = false
		}
	}
	if v.End, v.EndSays, err = s.end(v.State, kept.Case); err != nil {
		return talkView{}, err
	}
	if v.State.Phase == conversation.Stopped {
		v.Dangers = s.dangers(v.State)
		for i := range v.Steps { // said once, where it is seen
			v.Steps[i].Heard = slices.DeleteFunc(v.Steps[i].Heard, func(l line) bool { return l.Caution && slices.Contains(v.Dangers, l.Text) })
		}
	}
	if v.Now == nil {
		v.News = strings.TrimSpace(v.News + " " + v.End)
	}
	return v, nil
}

// news is what is read out when the page changed: what came of the last answer,
// and the question.
func news(t talk) string {
	var b strings.Builder
	if n := len(t.Steps); n > 0 {
		for _, l := range t.Steps[n-1].Heard {
			b.WriteString(l.Text + " ")
		}
	}
	if t.Now != nil {
		for _, c := range t.Now.Cautions {
			b.WriteString("Caution. " + c + " ")
		}
		if t.Now.Remedy != nil {
			b.WriteString(capital(t.Now.Remedy.Name) + ". ")
		}
		b.WriteString(t.Now.Asks)
	}
	return strings.TrimSpace(b.String())
}

func (s *Server) talk(a *asking) (view, error) {
	v, err := s.talkView(a)
	return view{Page: "talk", Title: s.talkTitle(v), Data: v, Follow: v.Path + "/news"}, err
}

// talkNews ends with the link.
func (s *Server) talkNews(a *asking, w http.ResponseWriter) error {
	id, _, _, err := s.open(a)
	if err != nil {
		return err
	}
	return s.news(a, w, func(c desk.Change) bool { return c.Conversation == id }, func() bool {
		_, err := s.linked(a)
		return err == nil
	})
}

func (s *Server) talkTitle(v talkView) string {
	switch {
	case v.talk.State == nil:
		return ""
	case v.Now != nil && v.Now.Remedy != nil:
		return capital(v.Now.Remedy.Name)
	case v.Now != nil:
		return v.Now.Asks
	case v.State.Phase == conversation.Over, v.State.Phase == conversation.Stopped:
		return capital(s.c.KB.About.Person) + " takes over"
	}
	return "Your talk"
}

// answer takes what the owner says to the question that was on the page.
func (s *Server) answer(w http.ResponseWriter, a *asking) error {
	if err := a.ParseForm(); err != nil {
		return refuse(http.StatusBadRequest, "This could not be read", "It is too long, or was cut off on the way. Go back and send less at once.")
	}
	id, kept, _, err := s.open(a)
	if err != nil {
		return err
	}
	text := said(a)
	to := "/talk/" + a.PathValue("token")
	if plain(text, mostWords) == "" {
		http.Redirect(w, a.Request, to+"#now", http.StatusSeeOther)
		return nil
	}
	if !s.limits.words.allow(s.from(a.Request)) {
		return tooMany
	}
	if ok, say := s.c.Desk.Admit(id, "", a.now); !ok {
		says := strings.Join(say, " ")
		if says == "" { // told a moment ago
			return tooMany
		}
		return refuse(http.StatusTooManyRequests, "One moment", says)
	}
	turn, err := strconv.ParseUint(a.PostFormValue("turn"), 10, 64)
	switch {
	case err != nil || turn > kept.Turns:
		return refuse(http.StatusBadRequest, "This form is not one of ours", "Load the talk again and answer there.")
	case turn < kept.Turns && !s.wasSaid(id, text):
		return s.goneOn(w, a, text)
	case turn == kept.Turns:
		if err := s.take(a.Context(), id, turn, text); err != nil {
			return err
		}
		if !s.wasSaid(id, text) { // another window was faster
			return s.goneOn(w, a, text)
		}
	}
	http.Redirect(w, a.Request, to+"#now", http.StatusSeeOther)
	return nil
}

// goneOn shows the talk as it is now with what was not taken: an answer to one
// question must never count for another.
func (s *Server) goneOn(w http.ResponseWriter, a *asking, text string) error {
	v, err := s.talkView(a)
	if err != nil {
		return err
	}
	v.Kept, v.Draft = "The talk had gone on meanwhile, so this was not taken. Look at what is asked now, and send it if it still fits.", plain(text, mostWords)
	return s.show(w, a, view{Page: "talk", Title: "The talk had gone on", Data: v, Follow: v.Path + "/news", Status: http.StatusConflict})
}

// wasSaid says whether a message is the last one that was taken: then the same
// form came twice.
func (s *Server) wasSaid(id, text string) bool {
	_, events, err := s.c.Store.Conversation(id)
	if err != nil {
		return false
	}
	for _, e := range slices.Backward(events) {
		if e.Kind == conversation.OwnerSaid {
			return plain(e.Text, mostWords) == plain(text, mostWords)
		}
	}
	return false
}

// said is what a form says in words: an offered answer, a figure with its unit,
// or what was typed.
func said(a *asking) string {
	if c := a.PostFormValue("choice"); c != "" {
		return c
	}
	if n := strings.TrimSpace(a.PostFormValue("number")); n != "" {
		return strings.TrimSpace(n + " " + a.PostFormValue("unit"))
	}
	return a.PostFormValue("say")
}
