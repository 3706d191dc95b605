package main

import (
	"math/rand/v2"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"

	"triagebot/discord"
	"triagebot/kb"
)

// onDiscord sets the bot up on Discord, when the config has it, and says where
// volunteers are told of cases there.
func (v *server) onDiscord(k *kb.KB) (announce string, err error) {
	d := v.conf.Discord
	if d == nil {
		return "", nil
	}
	v.chat, err = discord.New(discord.Config{
		Token: d.Token.Value(), Volunteers: d.Volunteers, Roles: d.Roles, Channels: d.Channels, Content: d.Content,
		Photo: d.PhotoMB << 20, Photos: d.Photos,
		Bases: discord.Bases{REST: d.Bases.REST, Gateway: d.Bases.Gateway, Files: d.Bases.Files},
		Store: v.store, KB: k, Engine: v.engine, Log: v.log, Now: v.now, After: time.After, Jitter: rand.Float64,
	})
	if err != nil {
		return "", err
	}
	v.senders.to[strings.TrimSuffix(discord.Scheme, ":")] = v.chat
	return discord.Announce(d.Volunteers), v.metrics.registry.Register(chatting{v.chat})
}

// chatting reads how the bot stands on Discord when it is asked for.
type chatting struct{ chat *discord.Adapter }

var (
	chatConnected = prometheus.NewDesc("triagebot_discord_shards_connected", "Sessions with Discord's gateway that are open.", nil, nil)
	chatLost      = prometheus.NewDesc("triagebot_discord_connections_lost_total", "Sessions with Discord's gateway that broke.", nil, nil)
	chatUnread    = prometheus.NewDesc("triagebot_discord_events_unread_total", "Events of Discord that did not read.", nil, nil)
	chatRefused   = prometheus.NewDesc("triagebot_discord_refused_total", "Messages and presses not taken because of limits.", nil, nil)
	chatWaiting   = prometheus.NewDesc("triagebot_discord_waiting", "Messages and presses from Discord waiting to be worked on.", nil, nil)
)

// Describe implements prometheus.Collector.
func (c chatting) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{chatConnected, chatLost, chatUnread, chatRefused, chatWaiting} {
		to <- d
	}
}

// Collect implements prometheus.Collector.
func (c chatting) Collect(to chan<- prometheus.Metric) {
	s := c.chat.Status()
	to <- prometheus.MustNewConstMetric(chatConnected, prometheus.GaugeValue, float64(s.Connected))
	to <- prometheus.MustNewConstMetric(chatLost, prometheus.CounterValue, float64(s.Lost))
	to <- prometheus.MustNewConstMetric(chatUnread, prometheus.CounterValue, float64(s.Unread))
	to <- prometheus.MustNewConstMetric(chatRefused, prometheus.CounterValue, float64(s.Refused))
	to <- prometheus.MustNewConstMetric(chatWaiting, prometheus.GaugeValue, float64(s.Waiting))
}
