package discord

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"triagebot/casefile/store"
)

// pictures are the kinds of files that are kept.
var pictures = map[string]bool{"image/jpeg": true, "image/png": true, "image/webp": true, "image/gif": true, "image/heic": true}

// keepPhotos keeps the pictures of a message with its conversation: their bytes,
// since the platform's links stop working. What was kept and what was not is
// said once.
func (a *Adapter) keepPhotos(ctx context.Context, m *message) error {
	if len(m.Attachments) == 0 {
		return nil
	}
	where, err := a.talkOf(m.Guild, m.Channel, m.Author.ID, a.addressed(m))
	if err != nil || where == "" {
		return err
	}
	said := known(m.ID + "/photos")
	if seen, err := a.c.Store.Seen(said); err != nil || seen {
		return err
	}
	kept, err := a.c.Store.Photos(where)
	if err != nil {
		return err
	}
	have := map[string]bool{}
	for _, p := range kept {
		have[p.ID] = true
	}
	var fresh, large, other, lost int
	for _, x := range m.Attachments {
		kind, _, _ := strings.Cut(x.Kind, ";")
		switch {
		case !pictures[kind] || !isID(x.ID):
			other++
			continue
		case have[x.ID]:
			fresh++
			continue
		case x.Size > a.c.Photo, len(have) >= a.c.Photos:
			large++
			continue
		}
		data, err := a.fetch(ctx, x)
		if errors.Is(err, errTooLarge) {
			large++
			continue
		}
		if errors.Is(err, errGone) {
			lost++
			continue
		}
		if err != nil {
			return fmt.Errorf("fetching a photo: %w", err)
		}
		p := store.Photo{ID: x.ID, Message: known(m.ID), Name: x.Name, Kind: kind, Kept: a.c.Now()}
		if err := a.c.Store.KeepPhoto(ctx, where, p, data); err != nil {
			return err
		}
		have[x.ID] = true
		fresh++
	}
	var say []string
	for _, n := range []struct {
		count int
		name  string
	}{{fresh, "photo-kept"}, {large, "photo-large"}, {other, "file-other"}, {lost, "photo-lost"}} {
		if n.count > 0 {
			say = append(say, a.words.say(n.name, "most", strconv.Itoa(a.c.Photo>>20), "photos", strconv.Itoa(a.c.Photos)))
		}
	}
	return a.aside(ctx, where, said, m.Author.ID, say)
}

var (
	errTooLarge = errors.New("larger than photos may be")
	errGone     = errors.New("no longer there")
)

// fetch reads a file of the platform, no more of it than may be kept.
func (a *Adapter) fetch(ctx context.Context, x attachment) ([]byte, error) {
	u, err := url.Parse(x.URL)
	if err != nil || u.Scheme != "https" || u.Host != "cdn.discordapp.com" && u.Host != "media.discordapp.net" {
		return nil, errGone // not the platform's: not ours to ask for
	}
	ctx, cancel := context.WithTimeout(ctx, requestTime)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, x.URL, nil)
	if err != nil {
		return nil, errGone
	}
	resp, err := a.files.Do(req)
	if err != nil {
		return nil, safe(err)
	}
	defer resp.Body.Close()
	switch {
	case resp.StatusCode == http.StatusForbidden, resp.StatusCode == http.StatusNotFound, resp.StatusCode == http.StatusGone:
		return nil, errGone
	case resp.StatusCode != http.StatusOK:
		return nil, fmt.Errorf("the platform answers %d", resp.StatusCode)
	}
	data, err := io.ReadAll(io.LimitReader(resp.Body, int64(a.c.Photo)+1))
	if err != nil {
		return nil, fmt.Errorf("reading it: %w", safe(err))
	}
	if len(data) > a.c.Photo {
		return nil, errTooLarge
	}
	return data, nil
}
