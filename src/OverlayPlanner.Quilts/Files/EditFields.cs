using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Quilts.Files;

/// <summary>One edit as a JSON object; its field <c>do</c> says which kind it is.</summary>
internal static class EditFields
{
    private const string Kinds =
        "add, move, remove, arc, sure, leave, ditch, edge, name, corners, block, unblock, copy, teach";

    public static MapEdit Read(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        string kind = f.Text("do");
        MapEdit edit = kind switch
        {
            "add" => ReadAdd(f, place),
            "move" => new MovePoint(SpotOf(f, "point", place), f.Point("to")),
            "remove" => new RemoveSeam(SpotOf(f, "seam", place)),
            "arc" => ReadArc(f, place),
            "sure" => new SureSeam(SpotOf(f, "seam", place)),
            "leave" => new LeavePatch(SpotOf(f, "patch", place), f.Flag("leave", otherwise: true)),
            "ditch" => new SayDitch(SpotOf(f, "seam", place), f.Word<LowSide>("side"))
            {
                Along = OptionalWay(f, place),
                Part = ReadPart(f, place),
            },
            "edge" => new SayEdge(
                SpotOf(f, "seam", place),
                f.Word<EdgeKind>("edge"),
                f.OptionalWord<OutlineReach>("reach") ?? OutlineReach.Seam
            ),
            "name" => ReadName(f, place),
            "corners" => new SetCorners(SpotOf(f, "block", place), f.List("corners", JsonFields.PointOf)),
            "block" => new AddBlock(f.List("corners", JsonFields.PointOf))
            {
                Pattern = f.OptionalText("pattern"),
                Turn = f.OptionalInteger("turn") ?? 0,
                Mirror = f.Flag("mirror"),
                Seams = f.OptionalWord<BlockSeams>("seams") ?? BlockSeams.Draw,
                Block = OptionalId(f, "block", place),
            },
            "unblock" => new RemoveBlock(
                SpotOf(f, "block", place),
                f.OptionalWord<BlockSeams>("seams") ?? BlockSeams.Keep
            ),
            "copy" => new CopyBlock(SpotOf(f, "block", place)),
            "teach" => new TeachBlock(SpotOf(f, "block", place)),
            _ => throw new InputException(
                $"There is no edit \"{kind}\"",
                $"{place}.do",
                $"There are: {Kinds}. A later program may have more."
            ),
        };
        return edit with { Unknown = f.Rest };
    }

    public static void Write(Utf8JsonWriter json, MapEdit edit)
    {
        json.WriteStartObject();
        json.WriteString("do", edit.Word);
        switch (edit)
        {
            case AddSeam e:
                WriteIf(json, "seam", e.Seam);
                WritePoint(json, "from", e.From);
                WritePoint(json, "to", e.To);
                json.WriteNumber("bulge", e.Bulge);
                json.WriteNumber("snap", e.Snap.Inches);
                break;
            case MovePoint e:
                Write(json, "point", e.Point);
                WritePoint(json, "to", e.To);
                break;
            case RemoveSeam e:
                Write(json, "seam", e.Seam);
                break;
            case BendSeam e:
                Write(json, "seam", e.Seam);
                if (e.Through is { } through)
                {
                    WritePoint(json, "through", through);
                }
                else
                {
                    json.WriteNumber("bulge", e.Bulge);
                }

                WriteWay(json, e.Along);
                break;
            case SureSeam e:
                Write(json, "seam", e.Seam);
                break;
            case LeavePatch e:
                Write(json, "patch", e.Patch);
                json.WriteBoolean("leave", e.Alone);
                break;
            case SayDitch e:
                Write(json, "seam", e.Seam);
                json.WriteString("side", Words<LowSide>.Of(e.Side));
                WriteWay(json, e.Along);
                if (e.Part is { } part)
                {
                    json.WriteItems("part", [part.From, part.To], (j, p) => j.WritePoint(p));
                }

                break;
            case SayEdge e:
                Write(json, "seam", e.Seam);
                json.WriteString("edge", Words<EdgeKind>.Of(e.Kind));
                json.WriteString("reach", Words<OutlineReach>.Of(e.Reach));
                break;
            case NameBlock e:
                Write(json, "block", e.Block);
                json.WriteOptional("pattern", e.Pattern);
                WriteIf(json, "called", e.Called);
                if (e.Turn is { } turn)
                {
                    json.WriteNumber("turn", turn);
                }

                if (e.Mirror is { } mirror)
                {
                    json.WriteBoolean("mirror", mirror);
                }

                WriteIf(json, "about", e.About is { } about ? Words<BlockSaying>.Of(about) : null);
                break;
            case SetCorners e:
                Write(json, "block", e.Block);
                json.WriteItems("corners", e.Corners, (j, p) => j.WritePoint(p));
                break;
            case AddBlock e:
                WriteIf(json, "block", e.Block);
                json.WriteItems("corners", e.Corners, (j, p) => j.WritePoint(p));
                json.WriteOptional("pattern", e.Pattern);
                json.WriteNumber("turn", e.Turn);
                json.WriteBoolean("mirror", e.Mirror);
                json.WriteString("seams", Words<BlockSeams>.Of(e.Seams));
                break;
            case RemoveBlock e:
                Write(json, "block", e.Block);
                json.WriteString("seams", Words<BlockSeams>.Of(e.Seams));
                break;
            case CopyBlock e:
                Write(json, "block", e.Block);
                break;
            case TeachBlock e:
                Write(json, "block", e.Block);
                break;
        }

        json.WriteUnknown(edit.Unknown);
        json.WriteEndObject();
    }

    private static AddSeam ReadAdd(JsonFields f, string place) =>
        new(f.Point("from"), f.Point("to"), f.OptionalNumber("bulge") ?? 0)
        {
            Snap = Length.FromInches(f.OptionalNumber("snap") ?? 0.125),
            Seam = OptionalId(f, "seam", place),
        };

    private static BendSeam ReadArc(JsonFields f, string place)
    {
        Point<ClothSpace>? through = OptionalPoint(f, "through", place);
        return new(SpotOf(f, "seam", place), through is null ? f.Number("bulge") : f.OptionalNumber("bulge") ?? 0)
        {
            Through = through,
            Along = OptionalWay(f, place),
        };
    }

    private static NameBlock ReadName(JsonFields f, string place) =>
        new(SpotOf(f, "block", place), f.OptionalText("pattern"))
        {
            Called = f.OptionalText("called"),
            About = f.OptionalWord<BlockSaying>("about"),
            Turn = f.OptionalInteger("turn"),
            Mirror =
                f.Element("mirror") is not { } m ? null
                : m.ValueKind is JsonValueKind.True or JsonValueKind.False ? m.GetBoolean()
                : throw JsonFields.Wrong(place + ".mirror", "true or false"),
        };

    private static (Point<ClothSpace>, Point<ClothSpace>)? ReadPart(JsonFields f, string place)
    {
        IReadOnlyList<Point<ClothSpace>> part = f.List("part", JsonFields.PointOf, required: false);
        return part.Count switch
        {
            0 => null,
            2 => (part[0], part[1]),
            _ => throw JsonFields.Wrong(place + ".part", "a list of two places"),
        };
    }

    private static Spot SpotOf(JsonFields f, string name, string place)
    {
        Spot spot = new(OptionalId(f, name, place), OptionalPoint(f, "at", place));
        return spot.Id is not null || spot.At is not null
            ? spot
            : throw new InputException(
                $"The edit does not say which {name}",
                place,
                $"Give its id (\"{name}\"), a place on it (\"at\"), or both."
            );
    }

    // Ids go into messages and file names of a user's own: what is none would only confuse.
    private static string? OptionalId(JsonFields f, string name, string place)
    {
        string? id = f.OptionalText(name);
        return id is null || (id.Length is > 0 and <= 100 && !id.Any(char.IsControl))
            ? id
            : throw JsonFields.Wrong($"{place}.{name}", "an id of 1 to 100 characters");
    }

    private static Point<ClothSpace>? OptionalPoint(JsonFields f, string name, string place) =>
        f.Element(name) is { } e ? JsonFields.PointOf(e, $"{place}.{name}") : null;

    private static Vector<ClothSpace>? OptionalWay(JsonFields f, string place) =>
        OptionalPoint(f, "along", place) is { } p ? new Vector<ClothSpace>(p.X, p.Y) : null;

    private static void Write(Utf8JsonWriter json, string name, Spot spot)
    {
        WriteIf(json, name, spot.Id);
        if (spot.At is { } at)
        {
            WritePoint(json, "at", at);
        }
    }

    private static void WriteIf(Utf8JsonWriter json, string name, string? text)
    {
        if (text is not null)
        {
            json.WriteString(name, text);
        }
    }

    private static void WriteWay(Utf8JsonWriter json, Vector<ClothSpace>? way)
    {
        if (way is { } w)
        {
            WritePoint(json, "along", new(w.X, w.Y));
        }
    }

    private static void WritePoint(Utf8JsonWriter json, string name, Point<ClothSpace> p)
    {
        json.WritePropertyName(name);
        json.WritePoint(p);
    }
}
