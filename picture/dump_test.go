package picture
import ("testing";"fmt";"triagebot/kb")
func TestDump(t *testing.T){
 k,d:=kb.Load(kb.Embedded()); if k==nil {t.Fatal(d)}
 p:=func(p *kb.Probe) string{ if p==nil {return "-"}; if p.Plug!="" {return p.Plug+"."+p.Pin}; return "'"+p.Place+"'"}
 for _,c:=range k.Checks { if c.Red!=nil||c.Black!=nil||c.Kind=="measure" {
  l:=""; if c.Line!=nil { l=fmt.Sprint(c.Line.At,c.Line.Any,c.Line.All,"/",c.Line.Against)}
  fmt.Printf("%s [%s] %s\n   R=%s B=%s side=%q meter=%q line=%s parts=%v\n",c.ID,c.Kind,c.Name,p(c.Red),p(c.Black),c.Side,c.Meter,l,c.Parts)}}
 for _,kit:=range k.Kits { fmt.Println(kit.ID); for _,pl:=range kit.Plugs { fmt.Println("  ",pl.ID,pl.Viewed,pl.Rows,pl.Pins)}; for _,l:=range kit.Line.Links{fmt.Println("      ",l.ID,l.Name,l.From,l.To)}}
}
