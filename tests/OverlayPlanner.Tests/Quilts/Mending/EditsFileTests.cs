using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

public class EditsFileTests
{
    private const string Every = """
        { "format": "overlayplanner.edits", "version": 1, "later": {"a": [1]}, "edits": [
          {"do":"add","from":[0,1],"to":[2,1],"bulge":0.1,"snap":0.1,"seam":"s41"},
          {"do":"move","point":"j5","at":[2,2],"to":[2.1,2]},
          {"do":"remove","seam":"s7","at":[1,2]},
          {"do":"arc","seam":"s3","at":[2,1],"bulge":0.2,"along":[0,1]},
          {"do":"arc","at":[2,1],"through":[2.2,1]},
          {"do":"leave","patch":"p4","at":[1,1],"by":"hand"},
          {"do":"ditch","seam":"s3","at":[2,1],"side":"left","part":[[2,0.5],[2,1.5]]},
          {"do":"edge","seam":"s1","at":[1,0],"edge":"raw","reach":"side"},
          {"do":"name","block":"b2","at":[2,2],"pattern":"ohio-star","turn":1,"mirror":true},
          {"do":"name","block":"b2","at":[2,2],"pattern":null},
          {"do":"corners","block":"b2","at":[2,2],"corners":[[0,0],[4,0],[4,4],[0,4]]},
          {"do":"block","corners":[[0,0],[4,0],[4,4],[0,4]],"pattern":"Ohio Star","block":"b9"},
          {"do":"unblock","block":"b9","seams":"draw"},
          {"do":"copy","block":"b1","at":[2,2]},
          {"do":"teach","block":"b1","at":[2,2]} ] }
        """;

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    private static EditList Read(string text) => EditsFile.Read(Bytes(text), "edits.json");

    [Fact]
    public void Every_kind_is_read_and_comes_back_the_same_unknown_fields_too()
    {
        EditList list = Read(Every);
        Assert.Equal(15, list.Edits.Count);
        byte[] written = EditsFile.Write(list);
        byte[] again = EditsFile.Write(EditsFile.Read(written, "edits.json"));
        Assert.Equal(Encoding.UTF8.GetString(written), Encoding.UTF8.GetString(again));
        string text = Encoding.UTF8.GetString(written);
        Assert.Contains("\"by\":\"hand\"", text, StringComparison.Ordinal);
        Assert.Contains("\"later\"", text, StringComparison.Ordinal);
        Assert.Equal(
            new SayDitch(new("s3", new Point<ClothSpace>(2, 1)), LowSide.Left) { Part = (new(2, 0.5), new(2, 1.5)) },
            list.Edits[6]
        );
    }

    public static TheoryData<string, string, string> Broken() =>
        new()
        {
            { "\"version\": 1", "\"version\": 2", "edits.json" },
            { "overlayplanner.edits", "overlayplanner.route", "edits.json" },
            { "\"version\": 1,", "\"version\": 1, \"unit\": \"mm\",", "edits.json" },
            { "\"do\":\"remove\"", "\"do\":\"fold\"", "edits.json: edits[2].do" },
            { "\"do\":\"remove\"", "\"do\":7", "edits.json: edits[2].do" },
            { "\"do\":\"remove\",", "", "edits.json: edits[2]" },
            { "\"seam\":\"s7\",\"at\":[1,2]", "\"point\":\"s7\"", "edits.json: edits[2]" },
            { "\"seam\":\"s7\"", "\"seam\":\"\"", "edits.json: edits[2].seam" },
            { "\"seam\":\"s7\"", "\"seam\":null,\"x\":1", "" },
            { "\"at\":[1,2]", "\"at\":[1]", "edits.json: edits[2].at" },
            { "\"at\":[1,2]", "\"at\":[1,\"2\"]", "edits.json: edits[2].at[1]" },
            { "\"at\":[1,2]", "\"at\":[1,1e99]", "edits.json: edits[2].at[1]" },
            { "\"at\":[1,2]", "\"at\":[1,5e6]", "edits.json: edits[2]" },
            { "\"bulge\":0.2", "\"bulge\":3", "edits.json: edits[3]" },
            { "\"bulge\":0.2", "\"bulge\":\"big\"", "edits.json: edits[3].bulge" },
            { "\"bulge\":0.2,", "", "edits.json: edits[3]" },
            { "\"side\":\"left\"", "\"side\":\"up\"", "edits.json: edits[6].side" },
            { "[[2,0.5],[2,1.5]]", "[[2,0.5]]", "edits.json: edits[6].part" },
            { "\"edge\":\"raw\"", "\"edge\":\"sharp\"", "edits.json: edits[7].edge" },
            { "\"pattern\":\"ohio-star\"", "\"pattern\":\"ohio-start\"", "edits.json: edits[8]" },
            { "\"turn\":1", "\"turn\":4", "edits.json: edits[8]" },
            { "\"mirror\":true", "\"mirror\":\"yes\"", "edits.json: edits[8].mirror" },
            { "[[0,0],[4,0],[4,4],[0,4]]}", "[[0,0],[4,0],[4,4]]}", "edits.json: edits[10]" },
            { "[[0,0],[4,0],[4,4],[0,4]]}", "[[0,0],[0,4],[4,4],[4,0]]}", "edits.json: edits[10]" },
            { "\"snap\":0.1", "\"snap\":-1", "edits.json: edits[0]" },
            {
                "{\"do\":\"copy\",\"block\":\"b1\",\"at\":[2,2]},",
                "{\"do\":\"teach\",\"block\":\"b1\",\"at\":[2,2]},",
                "edits.json: edits[14]"
            },
            { "\"edits\": [", "\"edits\": {}, \"x\": [", "edits.json: edits" },
        };

    [Theory]
    [MemberData(nameof(Broken))]
    public void A_broken_file_is_refused_with_its_place(string from, string to, string where)
    {
        Assert.Contains(from, Every, StringComparison.Ordinal);
        int at = Every.IndexOf(from, StringComparison.Ordinal);
        string text = Every[..at] + to + Every[(at + from.Length)..];
        if (where.Length == 0)
        {
            // A place alone is enough.
            Assert.Null(Assert.IsType<RemoveSeam>(Read(text).Edits[2]).Seam.Id);
            return;
        }

        InputException e = Assert.Throws<InputException>(() => Read(text));
        Assert.StartsWith(where, e.Where, StringComparison.Ordinal);
        Assert.NotEmpty(e.Remedy);
    }

    [Fact]
    public void Later_versions_and_unknown_edits_are_refused_by_name()
    {
        InputException e = Assert.Throws<InputException>(() =>
            Read(Every.Replace("\"version\": 1", "\"version\": 3", StringComparison.Ordinal))
        );
        Assert.Equal("overlayplanner.edits version 3 is later than this program's 1", e.What);
        e = Assert.Throws<InputException>(() => Read(Every.Replace("\"copy\"", "\"weave\"", StringComparison.Ordinal)));
        Assert.Equal("There is no edit \"weave\"", e.What);
    }

    [Fact]
    public void Damaged_files_are_read_or_refused_and_nothing_else()
    {
        byte[] source = Bytes(Every);
        QuiltMap map = MapCheck.Inspect(Maps.Build(4, 0.01, Maps.Line(2, 0, 2, 4), Maps.Line(0, 2, 4, 2))).Map;
        int carried = 0;
        Property.ForAll(
            CsCheck.Gen.Select(CsCheck.Gen.Int[0, 2], CsCheck.Gen.Double[0, 1], CsCheck.Gen.Byte),
            x =>
            {
                int at = Math.Min(source.Length - 1, (int)(x.Item2 * source.Length));
                byte[] damaged = x.Item1 switch
                {
                    0 => [.. source[..at], x.Item3, .. source[(at + 1)..]],
                    1 => [.. source[..at], .. source[(at + 1)..]],
                    _ => [.. source[..at], (byte)('0' + x.Item3 % 10), .. source[at..]],
                };
                try
                {
                    EditList list = EditsFile.Read(damaged, "f");
                    ReplayedMap done = EditReplay.Run(map, list.Edits, "f", (m, _) => (m, []));
                    Assert.True(ReferenceEquals(done.Map, MapCheck.Inspect(done.Map).Map));
                    Assert.Equal(list.Edits.Count, done.Edits.Count);
                    carried++;
                }
                catch (InputException e)
                {
                    Assert.NotEmpty(e.Remedy);
                }
            },
            1500
        );
        Assert.True(carried > 50, carried.ToString(CultureInfo.InvariantCulture));
    }
}
