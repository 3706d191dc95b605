package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/web/account"
)

func accountCommand(s streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "account",
		Short: "Says who may sign in to the pages",
		Long: "Says who may sign in to the pages, with what roles: volunteers work cases, the vendor reads what they\n" +
			"teach, keepers keep the rules and may all of it. Owners need no account.\n" +
			"The store must not be in use: stop serve first.",
	}
	c.AddCommand(accountAdd(s), accountChange(s), accountRemove(s), accountList(s))
	return c
}

type accountOptions struct {
	store, discord string
	roles          []string
	password       bool
}

func roles(names []string) []desk.Role {
	var list []desk.Role
	for _, n := range names {
		list = append(list, desk.Role(strings.TrimSpace(n)))
	}
	return list
}

func accountAdd(s streams) *cobra.Command {
	var o accountOptions
	c := &cobra.Command{
		Use:   "add NAME",
		Short: "Adds an account; the password is asked for, or read from the input",
		Example: "  triagebot account add anna --role volunteer\n" +
			"  triagebot account add anna --role volunteer,vendor < password.txt\n" +
			"  triagebot account add anna --role volunteer --discord 123456789012345678",
		Args: one("a name"),
		RunE: func(c *cobra.Command, args []string) error {
			return withBook(o.store, false, func(b *account.Book) error {
				a := account.Account{Name: account.Local + args[0], Roles: roles(o.roles)}
				password := ""
				if o.discord != "" {
					a.Name, a.Shown = account.Discord+o.discord, args[0]
				} else {
					var err error
					if password, err = readPassword(s); err != nil {
						return err
					}
				}
				if err := b.Add(c.Context(), a, password); err != nil {
					return err
				}
				fmt.Fprintf(s.out, "%s may sign in as %s\n", args[0], strings.Join(o.roles, ", "))
				return nil
			})
		},
	}
	storeFlag(c, &o.store)
	c.Flags().StringSliceVar(&o.roles, "role", nil, "volunteer, vendor or keeper; several with commas")
	c.Flags().StringVar(&o.discord, "discord", "", "the person's id at Discord, who then signs in there and needs no password")
	_ = c.MarkFlagRequired("role") // fails only for a flag that is not there
	return c
}

func accountChange(s streams) *cobra.Command {
	var o accountOptions
	c := &cobra.Command{
		Use:   "change NAME",
		Short: "Changes roles or password of an account, and signs it out everywhere",
		Args:  one("a name"),
		RunE: func(c *cobra.Command, args []string) error {
			if len(o.roles) == 0 && !o.password {
				return usageError{errors.New("say what to change: --role or --password")}
			}
			return withBook(o.store, true, func(b *account.Book) error {
				name, err := fullName(b, args[0])
				if err != nil {
					return err
				}
				password := ""
				if o.password {
					if password, err = readPassword(s); err != nil {
						return err
					}
				}
				if err := b.Update(c.Context(), name, roles(o.roles), password); err != nil {
					return err
				}
				fmt.Fprintf(s.out, "%s is changed and signed out everywhere\n", args[0])
				return nil
			})
		},
	}
	storeFlag(c, &o.store)
	c.Flags().StringSliceVar(&o.roles, "role", nil, "volunteer, vendor or keeper; several with commas")
	c.Flags().BoolVar(&o.password, "password", false, "give a new password, at the terminal or from the input")
	return c
}

func accountRemove(s streams) *cobra.Command {
	var o accountOptions
	c := &cobra.Command{
		Use:   "remove NAME",
		Short: "Takes an account away",
		Args:  one("a name"),
		RunE: func(c *cobra.Command, args []string) error {
			return withBook(o.store, true, func(b *account.Book) error {
				name, err := fullName(b, args[0])
				if err != nil {
					return err
				}
				if err := b.Remove(c.Context(), name); err != nil {
					return err
				}
				fmt.Fprintf(s.out, "%s may not sign in any more\n", args[0])
				return nil
			})
		},
	}
	storeFlag(c, &o.store)
	return c
}

func accountList(s streams) *cobra.Command {
	var o accountOptions
	c := &cobra.Command{
		Use:   "list",
		Short: "Lists who may sign in",
		Args:  noMore,
		RunE: func(*cobra.Command, []string) error {
			return withBook(o.store, true, func(b *account.Book) error {
				all, err := b.All()
				for _, a := range all {
					var names []string
					for _, r := range a.Roles {
						names = append(names, string(r))
					}
					fmt.Fprintf(s.out, "%-30s %-20s %s\n", a.Name, a.Display(), strings.Join(names, ", "))
				}
				return err
			})
		},
	}
	storeFlag(c, &o.store)
	return c
}

// fullName finds an account by what was typed: its whole name, or the name
// without where it comes from.
func fullName(b *account.Book, typed string) (string, error) {
	all, err := b.All()
	if err != nil {
		return "", err
	}
	for _, a := range all {
		if a.Name == typed || a.Name == account.Local+typed {
			return a.Name, nil
		}
	}
	return "", fmt.Errorf("account %q: %w; see: triagebot account list", typed, account.ErrNone)
}

func withBook(path string, mustExist bool, do func(*account.Book) error) (err error) {
	at, err := storePath(path)
	if err != nil {
		return err
	}
	if !mustExist {
		if err := makeFolder(at); err != nil {
			return err
		}
	}
	st, err := store.Open(at, store.Options{Now: time.Now, MustExist: mustExist})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	return do(account.New(st, time.Now))
}

// readPassword asks at a terminal, twice and unseen; from anything else it takes
// the first line. It is never an argument: those are seen by everybody on the
// machine.
func readPassword(s streams) (string, error) {
	f, ok := s.in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		line, err := bufio.NewReader(io.LimitReader(s.in, 4096)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", fmt.Errorf("reading the password: %w", err)
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	ask := func(what string) (string, error) {
		fmt.Fprint(s.err, what)
		p, err := term.ReadPassword(int(f.Fd()))
		fmt.Fprintln(s.err)
		if err != nil {
			return "", fmt.Errorf("reading the password: %w", err)
		}
		return string(p), nil
	}
	first, err := ask("Password: ")
	if err != nil {
		return "", err
	}
	second, err := ask("Once more: ")
	if err != nil {
		return "", err
	}
	if first != second {
		return "", errors.New("the two passwords differ; nothing was changed")
	}
	return first, nil
}
