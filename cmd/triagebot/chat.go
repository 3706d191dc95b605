package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"triagebot/casefile"
	"triagebot/conversation"
	"triagebot/hearing"
)

type chatOptions struct {
	dir, priors, kit, resume string
	jsonl, web               bool
	storeFile, listenAt      string
	seed                     uint64
}

func chatCommand(s streams) *cobra.Command {
	var o chatOptions
	c := &cobra.Command{
		Use:   "chat",
		Short: "Talks with an owner and finds the fault",
		Args:  noMore,
		RunE: func(c *cobra.Command, _ []string) error {
			return chat(c.Context(), s, o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.dir, "kb", "", "folder of the knowledge base (default: the built-in one)")
	f.StringVar(&o.priors, "priors", "", "file of learned priors to put over it; see: triagebot learn")
	f.StringVar(&o.kit, "kit", "", "the owner's kit, when it is known")
	f.StringVar(&o.resume, "resume", "", "go on with a kept talk: its name, its file, or last")
	f.BoolVar(&o.jsonl, "jsonl", false, "one owner message a line in, one JSON object a turn out")
	f.BoolVar(&o.web, "web", false, "talk in a browser: prints the address, and serves until Ctrl-C")
	f.StringVar(&o.storeFile, "store", "", "with --web: file that keeps the talks (default: none is kept)")
	f.StringVar(&o.listenAt, "listen", "127.0.0.1:0", "with --web: address and port to serve at")
	f.Uint64Var(&o.seed, "seed", 0, "taken for the callers of --jsonl; the talk draws no lots, so it changes nothing")
	return c
}

func chat(ctx context.Context, s streams, o chatOptions) error {
	if o.web && (o.jsonl || o.kit != "" || o.resume != "") {
		return usageError{errors.New("--web goes with --kb, --store and --listen only: the owner names the kit in the talk, and goes on by its address")}
	}
	if o.jsonl {
		l := startChat(o)
		if l.err != nil {
			return l.err
		}
		defer l.closer.Close()
		return chatLines(s, l.engine, o.kit)
	}
	l := patiently(s.err, func() started { return startChat(o) })
	if l.err != nil {
		return l.err
	}
	defer l.closer.Close()
	if o.web {
		return chatPages(ctx, s, l.engine, o.storeFile, o.listenAt)
	}
	return chatPerson(ctx, s, l.engine, o)
}

// started is what a talk needs before its first word.
type started struct {
	engine *conversation.Engine
	closer io.Closer
	err    error
}

func startChat(o chatOptions) started {
	k, err := loadWith(o.dir, o.priors)
	if err != nil {
		return started{err: err}
	}
	if err := knownKit(k, o.kit); err != nil {
		return started{err: err}
	}
	engine, closer, err := hearing.Engine(k)
	return started{engine, closer, err}
}

// chatLines is the line protocol. Nothing is kept on disk: the caller has it all.
func chatLines(s streams, engine *conversation.Engine, kit string) error {
	talk := &session{state: conversation.NewState(), engine: engine}
	if kit != "" {
		if err := talk.keep([]conversation.Event{{Kind: conversation.KitKnown, ID: kit}}); err != nil {
			return err
		}
	}
	write := lineWriter(s.out)
	return eachLine(s.in, func(line string) error {
		turn, err := talk.step(parseMessage(line).Text)
		if err != nil {
			fmt.Fprintf(s.err, "triagebot: %v\n", err)
		}
		return write(turn)
	})
}

// changesCase says whether a turn brought more than words: a case is shown when
// it is made and when it changes, not again with every line that is added to it.
func changesCase(events []conversation.Event) bool {
	for _, e := range events {
		switch e.Kind {
		case conversation.OwnerSaid, conversation.BotSaid, conversation.Warned, conversation.Understood, conversation.Missed, conversation.Asked:
		default:
			return true
		}
	}
	return false
}

// step answers one message and keeps what happened. The turn is good even
// where an error is returned.
func (s *session) step(msg string) (conversation.Turn, error) {
	events, turn, err := s.engine.Step(s.state, msg, time.Now().UTC())
	if kept := s.keep(events); err == nil {
		err = kept
	}
	if (s.state.Phase.Ended() || s.state.Phase == conversation.Naming) && changesCase(events) {
		c, failed := casefile.Build(s.engine, s.state)
		if c != nil {
			turn.Case = c
		}
		if err == nil {
			err = failed
		}
	}
	return turn, err
}
