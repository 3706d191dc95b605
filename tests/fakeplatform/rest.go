package fakeplatform

import (
	"bytes"
	"encoding/json"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"regexp"
	"strconv"
	"strings"
)

// call is one request of the bot being answered.
type call struct {
	p      *Platform
	method string
	args   []string
	query  map[string]string
	body   map[string]any
	files  []Upload
}

// refusal is an error of the platform.
type refusal struct {
	status, code int
	text         string
}

// Refusals, by the platform's codes.
var (
	unknownChannel     = &refusal{404, 10003, "Unknown Channel"}
	unknownMessage     = &refusal{404, 10008, "Unknown Message"}
	unknownMember      = &refusal{404, 10007, "Unknown Member"}
	unknownInteraction = &refusal{404, 10062, "Unknown interaction"}
	unknownWebhook     = &refusal{404, 10015, "Unknown Webhook"}
	acknowledged       = &refusal{400, 40060, "Interaction has already been acknowledged."}
	missingAccess      = &refusal{403, 50001, "Missing Access"}
	missingPermissions = &refusal{403, 50013, "Missing Permissions"}
	closedToMessages   = &refusal{403, 50007, "Cannot send messages to this user"}
	anothersMessage    = &refusal{403, 50005, "Cannot edit a message authored by another user"}
	badForm            = &refusal{400, 50035, "Invalid Form Body"}
	archivedThread     = &refusal{400, 50083, "Thread is archived"}
)

type route struct {
	method string
	path   *regexp.Regexp
	name   string
	serve  func(*call) (any, *refusal)
}

func on(method, path string, serve func(*call) (any, *refusal)) route {
	pattern := regexp.MustCompile(`\{\w+\}`).ReplaceAllString(path, `([^/]+)`)
	return route{method, regexp.MustCompile(`^` + pattern + `$`), method + " " + path, serve}
}

// routes are what the bot may ask.
var routes = []route{
	on("GET", "/gateway", (*call).gateway),
	on("GET", "/gateway/bot", (*call).gateway),
	on("GET", "/users/@me", func(c *call) (any, *refusal) { return userObject(c.p.bot), nil }),
	on("POST", "/users/@me/channels", (*call).openDirect),
	on("GET", "/channels/{c}", (*call).getChannel),
	on("PATCH", "/channels/{c}", (*call).patchChannel),
	on("GET", "/channels/{c}/messages", (*call).history),
	on("POST", "/channels/{c}/messages", (*call).create),
	on("PATCH", "/channels/{c}/messages/{m}", (*call).patch),
	on("DELETE", "/channels/{c}/messages/{m}", (*call).remove),
	on("POST", "/channels/{c}/threads", (*call).startThread),
	on("PUT", "/channels/{c}/thread-members/{u}", (*call).addToThread),
	on("GET", "/channels/{c}/thread-members/{u}", (*call).inThread),
	on("GET", "/guilds/{g}/threads/active", (*call).activeThreads),
	on("GET", "/guilds/{g}/members/{u}", (*call).member),
	on("PUT", "/applications/{a}/commands", (*call).register),
	on("PUT", "/applications/{a}/guilds/{g}/commands", (*call).register),
	on("POST", "/interactions/{i}/{t}/callback", (*call).callback),
	on("PATCH", "/webhooks/{a}/{t}/messages/@original", (*call).editReply),
	on("POST", "/webhooks/{a}/{t}", (*call).followUp),
}

var version = regexp.MustCompile(`^/api/v\d+`)

func (p *Platform) serve(w http.ResponseWriter, r *http.Request) {
	if r.URL.Path == "/gateway" || r.URL.Path == "/gateway/" {
		p.serveGateway(w, r)
		return
	}
	if strings.HasPrefix(r.URL.Path, "/cdn/") {
		p.serveFile(w, r)
		return
	}
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return
	}
	path := version.ReplaceAllString(r.URL.Path, "")
	p.mu.Lock()
	fault := p.fault
	p.mu.Unlock()
	var instead *Answer
	if fault != nil {
		instead = fault(Request{r.Method, path, body, r.Header})
	}
	if instead == nil || instead.AfterWork {
		status, header, v := p.answer(r, path, body)
		if instead == nil {
			reply(w, status, header, v)
			return
		}
	}
	reply(w, instead.Status, instead.Header, instead.Body)
}

func reply(w http.ResponseWriter, status int, header map[string]string, v any) {
	for k, x := range header {
		w.Header().Set(k, x)
	}
	if v == nil {
		w.WriteHeader(status)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v)
}

func (p *Platform) answer(r *http.Request, path string, body []byte) (int, map[string]string, any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !strings.HasPrefix(path, "/interactions/") && !strings.HasPrefix(path, "/webhooks/") && r.Header.Get("Authorization") != "Bot "+Token {
		return 401, nil, map[string]any{"message": "401: Unauthorized", "code": 0}
	}
	for _, x := range routes {
		args := x.path.FindStringSubmatch(path)
		if args == nil || x.method != r.Method {
			continue
		}
		p.requests[x.name]++
		c := &call{p: p, method: r.Method, args: args[1:], query: map[string]string{}}
		for k, v := range r.URL.Query() {
			c.query[k] = v[0]
		}
		if err := c.read(r.Header.Get("Content-Type"), body); err != nil {
			p.gripe("%s %s: the body does not read: %v", r.Method, path, err)
			return 400, nil, map[string]any{"message": "400: Bad Request", "code": 0}
		}
		v, no := x.serve(c)
		p.changed()
		if no != nil {
			return no.status, nil, map[string]any{"message": no.text, "code": no.code}
		}
		if v == nil {
			return 204, nil, nil
		}
		return 200, nil, v
	}
	p.gripe("%s %s: the fake does not know this route", r.Method, path)
	return 404, nil, map[string]any{"message": "404: Not Found", "code": 0}
}

// read takes JSON, or a form with JSON and files.
func (c *call) read(kind string, body []byte) error {
	if len(body) == 0 {
		return nil
	}
	media, params, _ := mime.ParseMediaType(kind)
	if media != "multipart/form-data" {
		if body[0] == '[' {
			var list []any
			err := json.Unmarshal(body, &list)
			c.body = map[string]any{"list": list}
			return err
		}
		return json.Unmarshal(body, &c.body)
	}
	form := multipart.NewReader(bytes.NewReader(body), params["boundary"])
	for {
		part, err := form.NextPart()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		data, err := io.ReadAll(part)
		if err != nil {
			return err
		}
		if part.FormName() == "payload_json" {
			if err := json.Unmarshal(data, &c.body); err != nil {
				return err
			}
			continue
		}
		c.files = append(c.files, Upload{part.FileName(), part.Header.Get("Content-Type"), data})
	}
}

func (p *Platform) serveFile(w http.ResponseWriter, r *http.Request) {
	parts := strings.Split(r.URL.Path, "/")
	p.mu.Lock()
	f, ok := p.files[parts[min(3, len(parts)-1)]]
	p.mu.Unlock()
	if !ok {
		http.Error(w, "This content is no longer available.", http.StatusNotFound)
		return
	}
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("Content-Length", strconv.Itoa(len(f.data)))
	_, _ = w.Write(f.data)
}

func text(m map[string]any, key string) string {
	s, _ := m[key].(string)
	return s
}

func (c *call) gateway() (any, *refusal) {
	g := &c.p.gateway
	return map[string]any{
		"url": c.p.gatewayURL(), "shards": g.shards,
		"session_start_limit": map[string]any{"total": 1000, "remaining": 1000 - g.identifies, "reset_after": 3_600_000, "max_concurrency": 1},
	}, nil
}

func (c *call) register() (any, *refusal) {
	list, _ := c.body["list"].([]any)
	c.p.commands = nil
	for _, x := range list {
		m, ok := x.(map[string]any)
		if !ok || text(m, "name") == "" {
			return nil, badForm
		}
		c.p.commands = append(c.p.commands, m)
	}
	return list, nil
}
