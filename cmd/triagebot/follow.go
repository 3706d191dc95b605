package main

import (
	"context"
	"log/slog"
	"time"

	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/kb"
	"triagebot/learning"
	"triagebot/mining"
	"triagebot/mining/feed"
)

// countEvery is how long a change may wait until the statistics show it.
const countEvery = 30 * time.Second

// followTalks keeps the statistics up to date until ctx ends.
func followTalks(ctx context.Context, f *feed.Feed, d *desk.Desk, k *kb.KB, now func() time.Time) error {
	changes, stop := d.Watch()
	defer stop()
	told := make(chan feed.Changed)
	go func() {
		for c := range changes {
			id := feed.Changed(c.Conversation)
			if c.Kind == desk.LookAgain {
				id = ""
			}
			select {
			case told <- id:
			case <-ctx.Done():
				return
			}
		}
	}()
	return f.Run(ctx, told, mining.Options{KB: k}, now, time.After, countEvery)
}

func (v *server) followTalks(ctx context.Context) error {
	return followTalks(ctx, v.learned, v.desk, v.written, v.now)
}

// putPriors puts the learned priors in force over rules that were just loaded.
// Those that do not fit any more are left out and told of: the bot must start
// after its rules were changed.
func putPriors(s *store.Store, k *kb.KB, now func() time.Time, log *slog.Logger) (int, error) {
	demo, err := s.Setting(feed.SettingDemo)
	if err != nil {
		return 0, err
	}
	b := &learning.Book{Settings: s, Now: now, Demo: demo != ""}
	n, err := b.Apply(k)
	if err != nil {
		log.Error("the learned priors are left out", "error", err)
		return 0, nil
	}
	if n > 0 {
		log.Info("learned priors are in force", "version", n)
	}
	return n, nil
}
