using System.Buffers;
using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>Routes as JSON, <c>overlayplanner.route</c> version 1.</summary>
public static class RouteFile
{
    /// <summary>The format's name.</summary>
    public const string Format = "overlayplanner.route";

    /// <summary>The version written.</summary>
    public const int Version = 1;

    /// <summary>Reads a route with its embedded map.</summary>
    /// <param name="utf8">The file's bytes.</param>
    /// <param name="name">The file's name, for messages.</param>
    /// <exception cref="InputException">Not such a file, of a later version, or broken; says where.</exception>
    public static Route Read(ReadOnlyMemory<byte> utf8, string name)
    {
        JsonFields fields = JsonFields.OfFile(FileHeader.Parse(utf8, name), name);
        FileHeader.Check(fields, Format, Version, name);
        JsonElement quilt =
            fields.Element("quilt")
            ?? throw new InputException(
                "The route lacks the map that it was planned on",
                $"{name}: quilt",
                "Plan the route again."
            );
        QuiltMap map = QuiltMapFile.Read(quilt, $"{name}: quilt");
        IReadOnlyList<RouteCandidate> candidates = fields.List("candidates", (e, p) => ReadCandidate(e, p, map));
        return new(map, candidates) { Unknown = fields.Rest };
    }

    /// <summary>Writes a route: UTF-8 JSON, indented, numbers that read back to the same doubles.</summary>
    public static byte[] Write(Route route)
    {
        ArgumentNullException.ThrowIfNull(route);
        ArrayBufferWriter<byte> buffer = new();
        using (Utf8JsonWriter json = new(buffer, JsonOutput.Options))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            json.WriteString("unit", "in");
            json.WritePropertyName("quilt");
            QuiltMapFile.Write(json, route.Quilt);
            json.WriteItems("candidates", route.Candidates, WriteCandidate);
            json.WriteUnknown(route.Unknown);
            json.WriteEndObject();
        }

        return [.. buffer.WrittenSpan, (byte)'\n'];
    }

    private static RouteCandidate ReadCandidate(JsonElement e, string place, QuiltMap map)
    {
        JsonFields f = new(e, place);
        JsonFields m = f.Object("measures");
        JsonFields p = f.Object("proof");
        string name = f.Text("name");
        IReadOnlyList<Run> runs = f.List("runs", (r, at) => ReadRun(r, at, map));
        RouteMeasures measures = new(
            m.OptionalInteger("starts") ?? 0,
            m.OptionalInteger("crossings") ?? 0,
            Length.FromInches(m.OptionalNumber("doubledInches") ?? 0),
            Length.FromInches(m.OptionalNumber("stitchedInches") ?? 0),
            Length.FromInches(m.OptionalNumber("addedInches") ?? 0),
            Length.FromInches(m.OptionalNumber("missedInches") ?? 0),
            m.OptionalInteger("moves") ?? 0
        );
        RouteProof proof = new(
            p.List("oddJunctions", JsonFields.TextOf, required: false),
            p.OptionalInteger("leastStarts") ?? 0,
            Length.FromInches(p.OptionalNumber("leastDoubledInches") ?? 0),
            p.Flag("optimal")
        );
        RouteCall? said = null;
        UnknownFields callRest = UnknownFields.None;
        if (f.Element("call") is { } call)
        {
            (said, callRest) = RouteCallFields.ReadCall(call, $"{place}.call");
        }

        RouteEase? felt = null;
        UnknownFields easeRest = UnknownFields.None;
        if (f.Element("ease") is { } ease)
        {
            (felt, easeRest) = RouteCallFields.ReadEase(ease, $"{place}.ease");
        }

        return new(name, runs, measures, proof)
        {
            Design = f.OptionalText("design"),
            Threads = f.List("threads", ReadShare, required: false),
            Finish = f.Element("finish") is { } finish ? ReadFinish(new(finish, place + ".finish")) : null,
            Call = said,
            Ease = felt,
            Unknown = f
                .Rest.With("measures", m.Rest)
                .With("proof", p.Rest)
                .With("call", callRest)
                .With("ease", easeRest),
        };
    }

    private static ThreadShare ReadShare(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        return new(
            f.Word<StitchThread>("thread"),
            f.OptionalInteger("starts") ?? 0,
            Length.FromInches(f.OptionalNumber("doubledInches") ?? 0),
            f.OptionalInteger("leastStarts") ?? 0,
            Length.FromInches(f.OptionalNumber("leastDoubledInches") ?? 0),
            f.Flag("optimal")
        );
    }

    private static void WriteShare(Utf8JsonWriter json, ThreadShare share)
    {
        json.WriteStartObject();
        json.WriteString("thread", Words<StitchThread>.Of(share.Thread));
        json.WriteNumber("starts", share.Starts);
        json.WriteNumber("doubledInches", share.Doubled.Inches);
        json.WriteNumber("leastStarts", share.LeastStarts);
        json.WriteNumber("leastDoubledInches", share.LeastDoubled.Inches);
        json.WriteBoolean("optimal", share.Optimal);
        json.WriteEndObject();
    }

    private static RouteFinish ReadFinish(JsonFields f) =>
        new(
            f.Text("way") == "unpick" ? FinishWay.Unpick : FinishWay.GoOn,
            f.OptionalInteger("stitchedMoves") ?? 0,
            f.Text("point"),
            f.Point("at"),
            f.OptionalInteger("newStarts") ?? 0,
            Length.FromInches(f.OptionalNumber("backtrackInches") ?? 0),
            Length.FromInches(f.OptionalNumber("unpickInches") ?? 0),
            Length.FromInches(f.OptionalNumber("overlapInches") ?? 0),
            f.OptionalNumber("seconds") ?? 0,
            f.Flag("least")
        );

    private static void WriteFinish(Utf8JsonWriter json, RouteFinish finish)
    {
        json.WriteStartObject("finish");
        json.WriteString("way", finish.Way == FinishWay.Unpick ? "unpick" : "go-on");
        json.WriteNumber("stitchedMoves", finish.StitchedMoves);
        json.WriteString("point", finish.Point);
        json.WritePropertyName("at");
        json.WritePoint(finish.At);
        json.WriteNumber("newStarts", finish.NewStarts);
        json.WriteNumber("backtrackInches", finish.Backtracking.Inches);
        json.WriteNumber("unpickInches", finish.Unpicked.Inches);
        json.WriteNumber("overlapInches", finish.Overlap.Inches);
        json.WriteNumber("seconds", finish.Seconds);
        json.WriteBoolean("least", finish.IsLeast);
        json.WriteEndObject();
    }

    private static Run ReadRun(JsonElement e, string place, QuiltMap map)
    {
        JsonFields f = new(e, place);
        IReadOnlyList<Move> moves = f.List("moves", (x, at) => ReadMove(x, at, map));
        for (int i = 1; i < moves.Count; i++)
        {
            if (moves[i - 1].Path.To != moves[i].Path.From)
            {
                throw new InputException(
                    "A move does not begin where the last one ended",
                    $"{place}.moves[{i.ToString(System.Globalization.CultureInfo.InvariantCulture)}]",
                    "Plan the route again, or begin a new run there."
                );
            }
        }

        return new(moves) { Unknown = f.Rest };
    }

    private static Move ReadMove(JsonElement e, string place, QuiltMap map)
    {
        JsonFields f = new(e, place);
        string? seam = f.OptionalText("seam");
        if (seam is not null && map.FindSeam(seam) is null)
        {
            throw new InputException(
                $"A move runs along a seam that the route's map does not have: \"{seam}\"",
                place,
                "Plan the route again on this map."
            );
        }

        Move move = new(
            f.Word<MoveKind>("kind"),
            new(f.Point("from"), f.Point("to"), f.OptionalNumber("bulge") ?? 0),
            seam,
            f.OptionalText("block")
        )
        {
            Thread = f.OptionalWord<StitchThread>("thread"),
            Unknown = f.Rest,
        };
        if (seam is not null && !RunsAlong(move.Path, map.EdgeOf(map.SeamOf(seam))))
        {
            throw new InputException(
                $"A move does not run along the whole of its seam \"{seam}\"",
                place,
                "Plan the route again on this map."
            );
        }

        return move;
    }

    // Either way; numbers that another program rounded to six places or more still agree.
    private static bool RunsAlong(Edge<ClothSpace> path, Edge<ClothSpace> seam)
    {
        return Agree(seam) || Agree(seam.Reversed);

        bool Agree(Edge<ClothSpace> s) =>
            s.From.DistanceTo(path.From) <= 1e-5
            && s.To.DistanceTo(path.To) <= 1e-5
            && Math.Abs(s.Bulge - path.Bulge) <= 1e-5;
    }

    private static void WriteCandidate(Utf8JsonWriter json, RouteCandidate c)
    {
        json.WriteStartObject();
        json.WriteString("name", c.Name);
        if (c.Design is not null)
        {
            json.WriteString("design", c.Design);
        }

        if (c.Threads.Count > 0)
        {
            json.WriteItems("threads", c.Threads, WriteShare);
        }

        if (c.Finish is not null)
        {
            WriteFinish(json, c.Finish);
        }

        json.WriteItems("runs", c.Runs, WriteRun);
        json.WriteStartObject("measures");
        json.WriteNumber("starts", c.Measures.Starts);
        json.WriteNumber("crossings", c.Measures.Crossings);
        json.WriteNumber("doubledInches", c.Measures.Doubled.Inches);
        json.WriteNumber("stitchedInches", c.Measures.Stitched.Inches);
        json.WriteNumber("addedInches", c.Measures.Added.Inches);
        json.WriteNumber("missedInches", c.Measures.Missed.Inches);
        json.WriteNumber("moves", c.Measures.Moves);
        json.WriteUnknown(c.Unknown.In("measures"));
        json.WriteEndObject();
        json.WriteStartObject("proof");
        json.WriteTexts("oddJunctions", c.Proof.OddJunctions);
        json.WriteNumber("leastStarts", c.Proof.LeastStarts);
        json.WriteNumber("leastDoubledInches", c.Proof.LeastDoubled.Inches);
        json.WriteBoolean("optimal", c.Proof.Optimal);
        json.WriteUnknown(c.Unknown.In("proof"));
        json.WriteEndObject();
        RouteCallFields.Write(json, c);
        json.WriteUnknown(c.Unknown);
        json.WriteEndObject();
    }

    private static void WriteRun(Utf8JsonWriter json, Run run)
    {
        json.WriteStartObject();
        json.WriteItems("moves", run.Moves, WriteMove);
        json.WriteUnknown(run.Unknown);
        json.WriteEndObject();
    }

    private static void WriteMove(Utf8JsonWriter json, Move m)
    {
        json.WriteStartObject();
        json.WriteString("kind", Words<MoveKind>.Of(m.Kind));
        json.WriteOptional("seam", m.Seam);
        json.WriteOptional("block", m.Block);
        json.WritePropertyName("from");
        json.WritePoint(m.Path.From);
        json.WritePropertyName("to");
        json.WritePoint(m.Path.To);
        json.WriteNumber("bulge", m.Path.Bulge);
        if (m.Thread is { } thread)
        {
            json.WriteString("thread", Words<StitchThread>.Of(thread));
        }

        json.WriteUnknown(m.Unknown);
        json.WriteEndObject();
    }
}
