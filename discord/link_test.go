package discord_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math/rand/v2"
	"net"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/discord"
)

// frame is a frame of a server.
func frame(opcode byte, body []byte) []byte {
	head := []byte{0x80 | opcode}
	switch n := len(body); {
	case n < 126:
		head = append(head, byte(n))
	case n < 1<<16:
		head = binary.BigEndian.AppendUint16(append(head, 126), uint16(n))
	default:
		head = binary.BigEndian.AppendUint64(append(head, 127), uint64(n))
	}
	return append(head, body...)
}

// wire is a connection that gives what it is made of, in pieces of any size.
type wire struct {
	net.Conn
	io.Reader
	wrote bytes.Buffer
}

func (w *wire) Read(p []byte) (int, error)  { return w.Reader.Read(p) }
func (w *wire) Write(p []byte) (int, error) { return w.wrote.Write(p) }
func (w *wire) Close() error                { return nil }

// What discordgo may see comes through byte for byte however it is cut up; the
// rest is kept from it.
func TestLink(t *testing.T) {
	hello := "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\n\r\n"
	pass := [][]byte{
		frame(1, []byte(`{"op":10,"d":{"heartbeat_interval":41250}}`)), frame(9, nil), frame(1, []byte(`{"op":11}`)),
		frame(1, []byte(`{"op":0,"t":"X","d":"`+strings.Repeat("x", 300)+`"}`)), frame(2, bytes.Repeat([]byte{7}, 66_000)), frame(1, []byte(`no json`)),
		frame(1, []byte(`{"op":0,"t":"GUILD_CREATE","s":3,"d":{"id":"1"}}`)), frame(1, []byte(`{"op":0,"t":"RESUMED","d":null}`)),
	}
	drop := [][]byte{frame(1, []byte(`{"op":1,"d":null}`)), frame(1, []byte(`{"op":0,"t":"GUILD_CREATE","d":{}}`)), frame(1, []byte(`{"op":0,"t":"GUILD_UPDATE","d":null}`))}
	draw := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		in, want := bytes.NewBufferString(hello), bytes.NewBufferString(hello)
		answers := 0
		for range 10 {
			if draw.IntN(3) == 0 {
				f := drop[draw.IntN(len(drop))]
				in.Write(f)
				if bytes.Contains(f, []byte(`"op":1,`)) {
					answers++
				}
				continue
			}
			f := pass[draw.IntN(len(pass))]
			in.Write(f)
			want.Write(f)
		}
		var r io.Reader = in
		switch draw.IntN(3) {
		case 0:
			r = iotest.OneByteReader(in)
		case 1:
			r = iotest.HalfReader(in)
		}
		w := &wire{Reader: r}
		got, err := io.ReadAll(discord.NewLink(w))
		require.NoError(t, err)
		require.Equal(t, want.Bytes(), got)
		assert.Equal(t, answers, bytes.Count(w.wrote.Bytes(), []byte(`{"op":1,"d":null}`)))
	}
}

// What ends a link ends it for both sides, with the reason kept.
func TestLinkEnds(t *testing.T) {
	hello := "HTTP/1.1 101 Switching Protocols\r\n\r\n"
	for _, x := range []struct {
		frame                  []byte
		code                   int
		again, invalid, passes bool
	}{
		{frame(1, []byte(`{"op":7,"d":null}`)), 0, true, false, false},
		{frame(1, []byte(`{"op":9,"d":false}`)), 0, true, true, false},
		{frame(1, []byte(`{"op":9,"d":true}`)), 0, true, false, false},
		{frame(8, []byte{0x0f, 0xa4, 'n', 'o'}), 4004, false, false, true},
		{frame(8, nil), 0, false, false, true},
	} {
		w := &wire{Reader: io.MultiReader(strings.NewReader(hello), bytes.NewReader(x.frame))}
		l := discord.NewLink(w)
		got, _ := io.ReadAll(l)
		assert.Equal(t, x.passes, bytes.HasSuffix(got, x.frame))
		code, again, invalid := discord.Ending(l)
		assert.Equal(t, []any{x.code, x.again, x.invalid}, []any{code, again, invalid})
		_, err := l.Write([]byte("goodbye"))
		assert.Error(t, err, "nothing goes out any more")
	}
}
