using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Tests.Quilts;

public class FilesTests
{
    // The contract's example of a quilt map, with the two points and seams that its one patch names.
    private const string MapText = """
        { "format": "overlayplanner.quilt-map", "version": 1, "unit": "in",
          "size": { "width": 24.0, "height": 24.0 },
          "junctions": [ { "id": "j1", "x": 0.0, "y": 0.0, "sigma": 0.012 }, { "id": "j2", "x": 12, "y": 0 }, { "id": "j3", "x": 6, "y": 6 } ],
          "seams":     [ { "id": "s1", "from": "j1", "to": "j2", "bulge": 0.0, "role": "seam", "edge": null, "ditch": "left", "confidence": 0.97 },
                         { "id": "s2", "from": "j2", "to": "j3" }, { "id": "s3", "from": "j3", "to": "j1", "role": "edge", "edge": "raw" } ],
          "patches":   [ { "id": "p1", "seams": ["s1", "s2", "s3"], "holes": [], "color": "#8a3f52", "leave": false } ],
          "blocks":    [ { "id": "b1", "corners": [[0,0],[12,0],[12,12],[0,12]], "row": 0, "column": 0, "pattern": "sawtooth-star", "turn": 0, "mirror": false, "patches": ["p1"] } ] }
        """;

    // The contract's example of a route, on that map.
    private const string RouteText = """
        { "format": "overlayplanner.route", "version": 1, "unit": "in",
          "quilt": MAP,
          "candidates": [ {
            "name": "A",
            "runs": [ { "moves": [
                { "kind": "ditch", "seam": "s1", "block": "b1", "from": [0,0], "to": [12,0], "bulge": 0.0 },
                { "kind": "arc",   "seam": null, "block": "b1", "from": [12,0], "to": [6,6], "bulge": 0.2 } ] } ],
            "measures": { "starts": 1, "crossings": 0, "doubledInches": 0.0, "stitchedInches": 20.713, "addedInches": 8.713, "missedInches": 0.0, "moves": 2 },
            "proof": { "oddJunctions": ["j1", "j3"], "leastStarts": 1, "leastDoubledInches": 0.0, "optimal": true } } ] }
        """;

    [Fact]
    public void The_contract_s_map_is_read()
    {
        QuiltMap map = ReadMap(MapText);

        Assert.Equal((24, 24), (map.Width.Inches, map.Height.Inches));
        Assert.Equal(0.012, map.JunctionOf("j1").At.Sigma.Inches);
        Assert.Equal(0, map.JunctionOf("j2").At.Sigma.Inches);
        Seam s1 = map.SeamOf("s1");
        Assert.Equal((0, SeamRole.Seam, null, Side.Left, 0.97), (s1.Bulge, s1.Role, s1.Edge, s1.Ditch, s1.Confidence));
        Assert.Equal((SeamRole.Edge, EdgeKind.Raw), (map.SeamOf("s3").Role, map.SeamOf("s3").Edge));
        Assert.Equal(("#8a3f52", false), (map.PatchOf("p1").Color, map.PatchOf("p1").Leave));
        Block b = map.Blocks[0];
        Assert.Equal((0, 0, "sawtooth-star", 0, false), (b.Row, b.Column, b.Pattern, b.Turn, b.Mirror));
        Assert.Equal(new(12, 12), b.Corners[2]);
        Assert.Equal(["p1"], b.Patches);
    }

    [Fact]
    public void The_contract_s_route_is_read()
    {
        Route route = ReadRoute(RouteText);
        RouteCandidate a = route.CandidateOf("A");

        Assert.Equal([MoveKind.Ditch, MoveKind.Arc], a.AllMoves.Select(m => m.Kind));

        // Chord 6 √2, bulge 0.2: 8.48528 × 1.04 × atan 0.2 / 0.2 = 8.7098; the example says 8.713, a hair too much.
        Assert.Equal(8.7098, a.AllMoves.Last().Path.Length, 5e-5);
        Assert.Equal(a.Measures.Added.Inches, a.AllMoves.Last().Path.Length, 5e-3);
        Assert.Equal(a.Measures.Stitched.Inches, a.AllMoves.Sum(m => m.Path.Length), 5e-3);
        Assert.Equal(["j1", "j3"], a.Proof.OddJunctions);
        Assert.True(a.Proof.Optimal);
        Assert.Same(a, route.CandidateOf(null));
        InputException e = Assert.Throws<InputException>(() => route.CandidateOf("Z"));
        Assert.Contains("A", e.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void The_order_of_fields_does_not_matter_and_a_byte_order_mark_is_passed_over()
    {
        JsonObject map = (JsonObject)JsonNode.Parse(MapText)!;
        JsonObject turned = new(map.Reverse().Select(p => KeyValuePair.Create(p.Key, p.Value?.DeepClone())));
        byte[] bytes = [.. Encoding.UTF8.Preamble, .. Encoding.UTF8.GetBytes(turned.ToJsonString())];

        Assert.Equal(3, QuiltMapFile.Read(bytes, "quilt.json").Seams.Count);
    }

    [Fact]
    public void Maps_and_routes_read_back_to_the_same_doubles_and_write_the_same_bytes()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("lemoyne-star"),
            Length.FromInches(11.3),
            2,
            1,
            Length.Zero
        );
        byte[] bytes = QuiltMapFile.Write(map);
        QuiltMap back = QuiltMapFile.Read(bytes, "quilt.json");

        Assert.Equal(map.Junctions.Select(j => (j.Id, j.Place)), back.Junctions.Select(j => (j.Id, j.Place)));
        Assert.Equal(bytes, QuiltMapFile.Write(back));
        byte[] route = RouteFile.Write(ReadRoute(RouteText));
        Assert.Equal(route, RouteFile.Write(RouteFile.Read(route, "route.json")));
    }

    [Fact]
    public void Unknown_fields_are_kept_at_every_level()
    {
        JsonNode route = JsonNode.Parse(RouteText.Replace("MAP", MapText, StringComparison.Ordinal))!;
        int added = AddToEveryObject(route);
        JsonNode back = JsonNode.Parse(RouteFile.Write(RouteFile.Read(Bytes(route.ToJsonString()), "route.json")))!;

        // Route 1, map 1, size 1, points 3, seams 3, patch 1, block 1, candidate 1, run 1, moves 2, measures 1, proof 1.
        Assert.Equal(17, added);
        Assert.Equal(added, CountMarks(back));
        Assert.Equal("""{"deep":[1,{"a":"é"}]}""", back["quilt"]!["size"]!["later"]!.ToJsonString(Plain));
        JsonNode map = JsonNode.Parse(
            QuiltMapFile.Write(QuiltMapFile.Read(Bytes(back["quilt"]!.ToJsonString()), "quilt.json"))
        )!;
        Assert.Equal(10, CountMarks(map));
    }

    public static TheoryData<string, string, string> BrokenMaps() =>
        // What replaces what, and the place that the message must name.
        new()
        {
            { "\"version\": 1", "\"version\": 2", "quilt.json" },
            { "\"version\": 1", "\"version\": \"1\"", "quilt.json: version" },
            { "\"version\": 1", "\"version\": 1.5", "quilt.json: version" },
            { "\"version\": 1", "\"version\": 0", "quilt.json" },
            { "\"version\": 1,", "", "quilt.json" },
            { "overlayplanner.quilt-map", "overlayplanner.route", "quilt.json" },
            { "\"format\": \"overlayplanner.quilt-map\",", "", "quilt.json" },
            { "\"unit\": \"in\"", "\"unit\": \"mm\"", "quilt.json" },
            { "\"unit\": \"in\",", "", "quilt.json" },
            { "\"width\": 24.0,", "", "quilt.json: size" },
            { "\"width\": 24.0", "\"width\": -1", "quilt.json: size" },
            { "\"width\": 24.0", "\"width\": 1e400", "quilt.json: size.width" },
            { "\"width\": 24.0", "\"width\": 1e9", "quilt.json: size.width" },
            { "\"width\": 24.0", "\"width\": NaN", "quilt.json, line 2" },
            { "\"width\": 24.0", "\"width\": \"24\"", "quilt.json: size.width" },
            { "\"size\": { \"width\": 24.0, \"height\": 24.0 }", "\"size\": [24, 24]", "quilt.json: size" },
            { "\"x\": 12", "\"x\": null", "quilt.json: junctions[1]" },
            { "\"x\": 12", "\"x\": true", "quilt.json: junctions[1].x" },
            { "\"sigma\": 0.012", "\"sigma\": -1", "quilt.json: junctions[0].sigma" },
            { "\"confidence\": 0.97", "\"confidence\": 97", "quilt.json: seams[0].confidence" },
            { "\"id\": \"j2\"", "\"id\": \"j1\"", "quilt.json: junction j1" },
            { "\"id\": \"j2\"", "\"id\": 2", "quilt.json: junctions[1].id" },
            { "\"id\": \"s2\", \"from\": \"j2\"", "\"id\": \"s2\", \"from\": \"j9\"", "quilt.json: seam s2" },
            { "\"id\": \"s2\", \"from\": \"j2\"", "\"id\": \"s1\", \"from\": \"j2\"", "quilt.json: seam s1" },
            { "\"role\": \"edge\"", "\"role\": \"hem\"", "quilt.json: seams[2].role" },
            { "\"ditch\": \"left\"", "\"ditch\": \"LEFT\"", "quilt.json: seams[0].ditch" },
            { "[\"s1\", \"s2\", \"s3\"]", "[\"s1\", \"s2\", \"s9\"]", "quilt.json: patch p1" },
            { "[\"s1\", \"s2\", \"s3\"]", "[\"s1\", 2]", "quilt.json: patches[0].seams[1]" },
            { "[\"s1\", \"s2\", \"s3\"]", "\"s1\"", "quilt.json: patches[0].seams" },
            { "\"holes\": []", "\"holes\": [\"s1\"]", "quilt.json: patches[0].holes[0]" },
            { "\"leave\": false", "\"leave\": 0", "quilt.json: patches[0].leave" },
            { "\"patches\": [\"p1\"]", "\"patches\": [\"p2\"]", "quilt.json: block b1" },
            { "[[0,0],[12,0],[12,12],[0,12]]", "[[0,0],[12,0],[12,12]]", "quilt.json: blocks[0].corners" },
            { "[[0,0],[12,0],[12,12],[0,12]]", "[[0,0],[12,0],[12,12],[0]]", "quilt.json: blocks[0].corners[3]" },
            { "\"turn\": 0", "\"turn\": 0.5", "quilt.json: blocks[0].turn" },
            { "\"unit\": \"in\",", "\"unit\": \"in\" \"x\": 1,", "quilt.json, line 1" },
            { "\"unit\": \"in\"", "\"unit\": \"in\\n\\nche\\ts\"", "quilt.json" },
            { "\"from\": \"j3\"", "\"from\": \"j\\n3\"", "quilt.json: seam s3" },
            { "\"id\": \"p1\"", "\"id\": \"\\ud800\"", "quilt.json" },
        };

    [Theory]
    [MemberData(nameof(BrokenMaps))]
    public void A_broken_map_is_refused_with_what_where_and_a_remedy(string from, string to, string where)
    {
        Assert.Contains(from, MapText, StringComparison.Ordinal);
        string text = MapText.Replace(from, to, StringComparison.Ordinal);
        AssertRefused(where, () => QuiltMapFile.Read(Bytes(text), "quilt.json"));
    }

    public static TheoryData<string, string, string> BrokenRoutes() =>
        new()
        {
            { "\"quilt\": MAP,", "", "route.json: quilt" },
            { "\"quilt\": MAP", "\"quilt\": 7", "route.json: quilt" },
            { "\"seam\": \"s1\"", "\"seam\": \"s9\"", "route.json: candidates[0].runs[0].moves[0]" },
            { "\"kind\": \"arc\"", "\"kind\": \"loop\"", "route.json: candidates[0].runs[0].moves[1].kind" },
            { "\"kind\": \"arc\", ", "", "route.json: candidates[0].runs[0].moves[1]" },
            {
                "\"from\": [12,0], \"to\": [6,6]",
                "\"from\": [11,0], \"to\": [6,6]",
                "route.json: candidates[0].runs[0].moves[1]"
            },
            {
                "\"from\": [0,0], \"to\": [12,0]",
                "\"from\": [0,0], \"to\": [6,0]",
                "route.json: candidates[0].runs[0].moves[0]"
            },
            {
                "\"from\": [0,0], \"to\": [12,0]",
                "\"from\": [0,0,0], \"to\": [12,0]",
                "route.json: candidates[0].runs[0].moves[0].from"
            },
            { "\"moves\": 2", "\"moves\": \"two\"", "route.json: candidates[0].measures.moves" },
            { "\"optimal\": true", "\"optimal\": \"yes\"", "route.json: candidates[0].proof.optimal" },
            { "\"name\": \"A\",", "", "route.json: candidates[0]" },
            { "\"version\": 1", "\"version\": 7", "route.json" },
            { "overlayplanner.route", "overlayplanner.quilt-map", "route.json" },
        };

    [Theory]
    [MemberData(nameof(BrokenRoutes))]
    public void A_broken_route_is_refused_with_what_where_and_a_remedy(string from, string to, string where)
    {
        Assert.Contains(from, RouteText, StringComparison.Ordinal);
        AssertRefused(where, () => ReadRoute(RouteText.Replace(from, to, StringComparison.Ordinal)));
    }

    [Fact]
    public void A_broken_map_inside_a_route_is_named_with_its_place()
    {
        string map = MapText.Replace("\"x\": 12", "\"x\": []", StringComparison.Ordinal);
        string text = RouteText.Replace("MAP", map, StringComparison.Ordinal);
        AssertRefused("route.json: quilt: junctions[1].x", () => RouteFile.Read(Bytes(text), "route.json"));
    }

    [Fact]
    public void A_later_version_is_refused_by_name()
    {
        string later = MapText.Replace("\"version\": 1", "\"version\": 2", StringComparison.Ordinal);
        InputException e = Assert.Throws<InputException>(() => QuiltMapFile.Read(Bytes(later), "quilt.json"));
        Assert.Equal("overlayplanner.quilt-map version 2 is later than this program's 1", e.What);
    }

    public static TheoryData<string, byte[]> Garbage() =>
        new()
        {
            { "empty", [] },
            { "white space", Bytes("  \n ") },
            { "a byte order mark alone", [0xEF, 0xBB, 0xBF] },
            { "text", Bytes("Dear all, the quilt is done.") },
            { "a number", Bytes("17") },
            { "null", Bytes("null") },
            { "a list", Bytes("[]") },
            { "an empty object", Bytes("{}") },
            { "cut off", Bytes(MapText[..200]) },
            { "two files in one", Bytes(MapText + MapText) },
            { "a comment", Bytes("// my quilt\n" + MapText) },
            { "a trailing comma", Bytes(MapText.Replace("[] ,", "[],", StringComparison.Ordinal)[..^1] + ",}") },
            { "UTF-16", [.. Encoding.Unicode.Preamble, .. Encoding.Unicode.GetBytes(MapText)] },
            { "a JPEG's first bytes", [0xFF, 0xD8, 0xFF, 0xE0, 0, 16, 74, 70, 73, 70] },
            { "no UTF-8 in a text", [.. Bytes("{\"format\": \""), 0xC3, 0x28, .. Bytes("\"}")] },
            { "deep nesting", Bytes(new string('[', 100_000)) },
            { "deep objects", Bytes(string.Concat(Enumerable.Repeat("{\"a\":", 100_000))) },
        };

    [Theory]
    [MemberData(nameof(Garbage))]
    public void What_is_no_map_at_all_is_refused_politely(string what, byte[] bytes)
    {
        Assert.NotEmpty(what);
        AssertRefused("quilt.json", () => QuiltMapFile.Read(bytes, "quilt.json"));
        AssertRefused("route.json", () => RouteFile.Read(bytes, "route.json"));
    }

    [Fact]
    public void Fifty_megabytes_of_garbage_are_refused_without_delay()
    {
        byte[] noise = new byte[50_000_000];
        new Random(5).NextBytes(noise);
        AssertRefused("noise", () => QuiltMapFile.Read(noise, "noise"));
        Array.Fill(noise, (byte)'[');
        AssertRefused("noise", () => QuiltMapFile.Read(noise, "noise"));
        Array.Fill(noise, (byte)'7');
        AssertRefused("noise", () => QuiltMapFile.Read(noise, "noise"));
    }

    [Fact]
    public void Damaged_files_are_read_or_refused_and_nothing_else()
    {
        // Bytes of both examples changed, dropped or doubled at random: any answer but an InputException would crash a program.
        byte[] route = Bytes(RouteText.Replace("MAP", MapText, StringComparison.Ordinal));
        byte[] map = Bytes(MapText);
        int refused = 0;
        Property.ForAll(
            CsCheck.Gen.Select(CsCheck.Gen.Int[0, 2], CsCheck.Gen.Double[0, 1], CsCheck.Gen.Byte, CsCheck.Gen.Bool),
            x =>
            {
                byte[] source = x.Item4 ? map : route;
                int at = Math.Min(source.Length - 1, (int)(x.Item2 * source.Length));
                byte[] damaged = x.Item1 switch
                {
                    0 => [.. source[..at], x.Item3, .. source[(at + 1)..]],
                    1 => [.. source[..at], .. source[(at + 1)..]],
                    _ => [.. source[..at], x.Item3, .. source[at..]],
                };
                try
                {
                    if (x.Item4)
                    {
                        MapCheck.Inspect(QuiltMapFile.Read(damaged, "f"));
                    }
                    else
                    {
                        RouteFile.Read(damaged, "f");
                    }
                }
                catch (InputException)
                {
                    refused++;
                }
            },
            3000
        );
        Assert.InRange(refused, 1500, 3000);
    }

    private static readonly JsonSerializerOptions Plain = new()
    {
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    private static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    private static QuiltMap ReadMap(string text) => QuiltMapFile.Read(Bytes(text), "quilt.json");

    private static Route ReadRoute(string text) =>
        RouteFile.Read(Bytes(text.Replace("MAP", MapText, StringComparison.Ordinal)), "route.json");

    private static void AssertRefused(string where, Func<object> read)
    {
        InputException e = Assert.Throws<InputException>(read);
        Assert.StartsWith(where, e.Where, StringComparison.Ordinal);
        Assert.NotEmpty(e.What);
        Assert.NotEmpty(e.Remedy);
        Assert.DoesNotContain('\n', e.What + e.Where + e.Remedy);
        Assert.Contains(e.Remedy, e.Message, StringComparison.Ordinal);
    }

    private static int AddToEveryObject(JsonNode? node)
    {
        int added = 0;
        if (node is JsonObject o)
        {
            added = 1 + o.ToArray().Sum(p => AddToEveryObject(p.Value));
            o["later"] = JsonNode.Parse("""{ "deep": [1, { "a": "\u00e9" }] }""");
        }
        else if (node is JsonArray a)
        {
            added = a.Sum(AddToEveryObject);
        }

        return added;
    }

    private static int CountMarks(JsonNode? node) =>
        node switch
        {
            JsonObject o => (o.ContainsKey("later") ? 1 : 0)
                + o.Where(p => p.Key != "later").Sum(p => CountMarks(p.Value)),
            JsonArray a => a.Sum(CountMarks),
            _ => 0,
        };
}
