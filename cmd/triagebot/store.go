package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"triagebot/casefile/store"
)

// storeFlag is where the store lies, for every command that needs it.
func storeFlag(c *cobra.Command, path *string) {
	c.Flags().StringVar(path, "store", "", "file of the store (default: triagebot.db in the folder of the talks)")
}

func storePath(given string) (string, error) {
	if given != "" {
		return given, nil
	}
	dir, err := talksDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(dir, "triagebot.db"), nil
}

// openStore opens a store that must be there.
func openStore(given string) (*store.Store, error) {
	path, err := storePath(given)
	if err != nil {
		return nil, err
	}
	return store.Open(path, store.Options{Now: time.Now, MustExist: true})
}

// one takes exactly one word, as a mistake of the command line otherwise.
func one(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != 1 {
			return usageError{fmt.Errorf("%q needs %s and nothing more", c.CommandPath(), what)}
		}
		return nil
	}
}

func contents(c store.Contents) string {
	return fmt.Sprintf("%d conversations, %d turns, %d cases, %d messages to send; layout %d, %d bytes",
		c.Conversations, c.Turns, c.Cases, c.Outgoing, c.Layout, c.Bytes)
}

// running adds the way through the running bot, which has the store open.
func running(c *cobra.Command, through *bool) *toBot {
	b := &toBot{}
	b.flags(c)
	c.Flags().BoolVar(through, "running", false, "go through the running bot, with a keeper's token")
	return b
}

// heldHint says how to do it all the same when the bot has the store.
func heldHint(err error) error {
	if held := (*store.HeldError)(nil); errors.As(err, &held) {
		return fmt.Errorf("%w, or go through it with --running", err)
	}
	return err
}

func backupCommand(s streams) *cobra.Command {
	var (
		path    string
		through bool
		bot     *toBot
	)
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "Writes a checked copy of the store",
		Args:  one("the file to write"),
		RunE: func(c *cobra.Command, args []string) (err error) {
			var write func(io.Writer) (string, error)
			if through {
				client, err := bot.client()
				if err != nil {
					return err
				}
				write = func(w io.Writer) (string, error) {
					return "written by the bot; check it with: triagebot verify", client.Backup(c.Context(), w)
				}
			} else {
				from, err := openStore(path)
				if err != nil {
					return heldHint(err)
				}
				defer func() { err = errors.Join(err, from.Close()) }()
				write = func(w io.Writer) (string, error) {
					found, err := from.Backup(c.Context(), w)
					return contents(found), err
				}
			}
			return backup(s, write, args[0])
		},
	}
	storeFlag(c, &path)
	bot = running(c, &through)
	return c
}

// backup leaves no half of a file behind, and overwrites none.
func backup(s streams, write func(io.Writer) (string, error), to string) error {
	f, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return fmt.Errorf("making the backup: %w", err)
	}
	found, err := write(f)
	if err == nil {
		err = f.Sync()
	}
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		_ = os.Remove(to)
		return fmt.Errorf("writing the backup %q: %w", to, err)
	}
	fmt.Fprintf(s.out, "%s: %s\n", to, found)
	return nil
}

func restoreCommand(s streams) *cobra.Command {
	var (
		path    string
		replace bool
	)
	c := &cobra.Command{
		Use:   "restore FILE",
		Short: "Puts a backup in the store's place",
		Long:  "Puts a backup in the store's place, after checking it.\nWho was forgotten after the backup was made is in it again: run forget once more.",
		Args:  one("the backup"),
		RunE: func(_ *cobra.Command, args []string) error {
			to, err := storePath(path)
			if err != nil {
				return err
			}
			found, err := store.Restore(to, args[0], replace, time.Now)
			if err != nil {
				return err
			}
			fmt.Fprintf(s.out, "%s: %s\n", to, contents(found))
			return nil
		},
	}
	storeFlag(c, &path)
	c.Flags().BoolVar(&replace, "replace", false, "give up the store that is there")
	return c
}

func verifyCommand(s streams) *cobra.Command {
	return &cobra.Command{
		Use:   "verify FILE",
		Short: "Checks every page and record of a store or a backup",
		Args:  one("the file to check"),
		RunE: func(_ *cobra.Command, args []string) error {
			found, err := store.Verify(args[0])
			if err != nil {
				return err
			}
			fmt.Fprintf(s.out, "%s is sound: %s\n", args[0], contents(found))
			return nil
		},
	}
}

func forgetCommand(s streams) *cobra.Command {
	var (
		path    string
		through bool
		bot     *toBot
	)
	c := &cobra.Command{
		Use:   "forget OWNER",
		Short: "Erases an owner's words and handle from the store",
		Long:  "Erases what an owner wrote and was told, the cases made of it, and their handle,\nand writes the file anew. Anonymous counts stay. Backups made before still hold it all.",
		Args:  one("the owner"),
		RunE: func(c *cobra.Command, args []string) (err error) {
			if through {
				client, err := bot.client()
				if err != nil {
					return err
				}
				e, err := client.Forget(c.Context(), args[0])
				if err != nil {
					return err
				}
				erased(s, e.Conversations, e.Cases, e.Outgoing, e.Mentions)
				return nil
			}
			from, err := openStore(path)
			if err != nil {
				return heldHint(err)
			}
			defer func() { err = errors.Join(err, from.Close()) }()
			e, err := from.Forget(c.Context(), args[0])
			if err != nil {
				return err
			}
			erased(s, e.Conversations, e.Cases, e.Outgoing, e.Mentions)
			return nil
		},
	}
	storeFlag(c, &path)
	bot = running(c, &through)
	return c
}

func erased(s streams, conversations, cases, outgoing, mentions int) {
	fmt.Fprintf(s.out, "erased: %d conversations, %d cases, %d messages to send, %d mentions in other cases\n", conversations, cases, outgoing, mentions)
	if conversations+cases+outgoing+mentions == 0 {
		fmt.Fprintln(s.out, "nothing was kept of that owner; the name is the one of the bot's records, such as discord:123 or bridge:ada")
	}
}
