using System.Text.Json;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Files;

/// <summary>A candidate's <c>call</c> and <c>ease</c>, fields beyond the format's first ones.</summary>
internal static class RouteCallFields
{
    public static void Write(Utf8JsonWriter json, RouteCandidate c)
    {
        if (c.Call is { } call)
        {
            json.WritePropertyName("call");
            WriteCall(json, call, c.Unknown.In("call"));
        }

        if (c.Ease is { } ease)
        {
            json.WritePropertyName("ease");
            WriteEase(json, ease, c.Unknown.In("ease"));
        }
    }

    public static (RouteCall Call, UnknownFields Others) ReadCall(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        RouteCall call = new(
            f.List("threads", ReadThread),
            f.List("verses", JsonFields.TextOf),
            f.OptionalInteger("descriptionLength") ?? 0,
            f.OptionalInteger("plainLength") ?? 0,
            f.OptionalInteger("decisionPoints") ?? 0,
            f.OptionalWord<DefaultRule>("rule") ?? DefaultRule.KeepLeft,
            f.OptionalInteger("steps") ?? 0,
            f.Flag("shortest")
        );
        return (call, f.Rest);
    }

    public static (RouteEase Ease, UnknownFields Others) ReadEase(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        RouteEase ease = new(
            f.OptionalInteger("turns") ?? 0,
            f.OptionalInteger("sharpStops") ?? 0,
            f.OptionalInteger("handMoves") ?? 0,
            Length.FromInches(f.OptionalNumber("longestReachInches") ?? 0),
            f.OptionalInteger("rulers") ?? 0,
            f.OptionalInteger("rulerChanges") ?? 0,
            f.OptionalInteger("stepsAcross") ?? 0,
            f.OptionalInteger("crossHanded") ?? 0,
            f.OptionalNumber("effort") ?? 0
        );
        return (ease, f.Rest);
    }

    private static void WriteEase(Utf8JsonWriter json, RouteEase ease, UnknownFields unknown)
    {
        json.WriteStartObject();
        json.WriteNumber("turns", ease.Turns);
        json.WriteNumber("sharpStops", ease.SharpStops);
        json.WriteNumber("handMoves", ease.HandMoves);
        json.WriteNumber("longestReachInches", ease.LongestReach.Inches);
        json.WriteNumber("rulers", ease.Rulers);
        json.WriteNumber("rulerChanges", ease.RulerChanges);
        json.WriteNumber("stepsAcross", ease.StepsAcross);
        json.WriteNumber("crossHanded", ease.CrossHanded);
        json.WriteNumber("effort", ease.Effort);
        json.WriteUnknown(unknown);
        json.WriteEndObject();
    }

    private static void WriteCall(Utf8JsonWriter json, RouteCall call, UnknownFields unknown)
    {
        json.WriteStartObject();
        json.WriteTexts("verses", call.Verses);
        json.WriteNumber("descriptionLength", call.DescriptionLength);
        json.WriteNumber("plainLength", call.PlainLength);
        json.WriteNumber("decisionPoints", call.DecisionPoints);
        json.WriteString("rule", Words<DefaultRule>.Of(call.Rule));
        json.WriteNumber("steps", call.Steps);
        json.WriteBoolean("shortest", call.IsShortest);
        json.WriteItems("threads", call.Threads, WriteThread);
        json.WriteUnknown(unknown);
        json.WriteEndObject();
    }

    private static void WriteThread(Utf8JsonWriter json, CallThread thread)
    {
        json.WriteStartObject();
        json.WriteItems("starts", thread.Starts, WriteStart);
        json.WriteItems("items", thread.Items, WriteItem);
        json.WriteEndObject();
    }

    private static void WriteStart(Utf8JsonWriter json, CallStart start)
    {
        json.WriteStartObject();
        json.WriteNumber("run", start.Run);
        json.WritePropertyName("at");
        json.WritePoint(start.At);
        json.WriteString("facing", Words<Facing>.Of(start.Facing));
        json.WriteBoolean("mirrored", start.Mirrored);
        json.WriteEndObject();
    }

    private static void WriteItem(Utf8JsonWriter json, CallItem item)
    {
        json.WriteStartObject();
        switch (item)
        {
            case CallRepeat repeat:
                json.WriteNumber("times", repeat.Times);
                json.WriteItems("items", repeat.Items, WriteItem);
                break;
            case CallAgain again:
                json.WriteString("again", Words<AgainKind>.Of(again.Kind));
                json.WriteItems("items", again.Items, WriteItem);
                json.WriteItems("between", again.Between, WriteItem);
                if (again.Turn is { } joint)
                {
                    WriteTurn(json, joint, again.StepsAcross);
                }

                break;
            default:
                CallStep step = (CallStep)item;
                WriteTurn(json, step.Turn, step.StepsAcross);
                json.WriteString("line", Words<CallLine>.Of(step.Line));
                json.WriteOptional("bow", step.Bow is { } bow ? Words<Side>.Of(bow) : null);
                json.WriteOptional("pieces", step.Pieces);
                break;
        }

        json.WriteEndObject();
    }

    private static void WriteTurn(Utf8JsonWriter json, CallTurn turn, bool across)
    {
        json.WriteString("turn", Words<TurnSize>.Of(turn.Size));
        json.WriteOptional("side", turn.Side is { } side ? Words<Side>.Of(side) : null);
        json.WriteNumber("pick", turn.Pick);
        json.WriteBoolean("across", across);
    }

    private static CallThread ReadThread(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        return new(f.List("starts", ReadStart), f.List("items", ReadItem));
    }

    private static CallStart ReadStart(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        return new(f.OptionalInteger("run") ?? 0, f.Point("at"), f.Word<Facing>("facing"), f.Flag("mirrored"));
    }

    private static CallItem ReadItem(JsonElement e, string place)
    {
        JsonFields f = new(e, place);
        if (f.OptionalInteger("times") is { } times)
        {
            return new CallRepeat(times, f.List("items", ReadItem));
        }

        if (f.OptionalWord<AgainKind>("again") is { } kind)
        {
            return new CallAgain(
                kind,
                f.List("items", ReadItem),
                f.List("between", ReadItem),
                f.OptionalWord<TurnSize>("turn") is { } size ? TurnOf(f, size) : null,
                f.Flag("across")
            );
        }

        return new CallStep(
            TurnOf(f, f.Word<TurnSize>("turn")),
            f.Word<CallLine>("line"),
            f.OptionalWord<Side>("bow"),
            f.OptionalInteger("pieces"),
            f.Flag("across")
        );
    }

    private static CallTurn TurnOf(JsonFields f, TurnSize size) =>
        new(size, f.OptionalWord<Side>("side"), f.OptionalInteger("pick") ?? 0);
}
