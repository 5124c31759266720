using System.Buffers;
using System.Text.Json;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing;

/// <summary>
/// What a route file's proof says beyond its own fields, so that anyone can check its claims from the file alone: the thread
/// asked for, the parity argument of each connected piece, and priced cuts for the doubled length.
/// </summary>
/// <remarks>
/// <code>
/// "thread": "mixed", "startInches": 20,
/// "parity": [ { "at": "j1", "odd": 8, "starts": 4 } ],
/// "certificate": { "cuts": [ { "inches": 1.5, "within": [], "junctions": ["j1"] } ] }
/// </code>
/// <c>parity</c> has one entry for each connected piece: a junction of it, how many of its junctions are odd, and max(1, odd ÷ 2).
/// <c>startInches</c> stands with a mixed thread alone: a start's price over an inch's. A cut's inner side holds its own
/// <c>junctions</c> and those of the earlier cuts that <c>within</c> names by number; <see cref="CutPacking"/> says what follows
/// from them. <c>certificate</c> is null where none was found; the figure then rests on the exact search alone.
/// </remarks>
internal sealed class ProofFields
{
    /// <summary>Two sums of the same lengths in another order, and prices rounded to 2⁻³³ in, differ by less.</summary>
    public const double Tolerance = 1e-6;

    private readonly StitchGraph graph;
    private readonly ThreadChoice thread;
    private readonly double inchesPerStart;
    private readonly CancellationToken cancellation;

    public ProofFields(StitchGraph graph, ThreadChoice thread, double inchesPerStart, CancellationToken cancellation)
    {
        this.graph = graph;
        this.thread = thread;
        this.inchesPerStart = inchesPerStart;
        this.cancellation = cancellation;
    }

    /// <summary>Least doubled length with so many runs, and the cuts that prove it, or null where they fall short.</summary>
    /// <param name="doubled">What the route doubles, inches.</param>
    /// <param name="runs">Its runs.</param>
    /// <param name="isLeastTime">For a mixed thread: its time is the least, so that one packing proves both.</param>
    /// <param name="leastDoubled">Inches.</param>
    public CutPacking? Prove(double doubled, int runs, bool isLeastTime, out double leastDoubled)
    {
        leastDoubled = doubled;
        if (thread == ThreadChoice.Mixed && isLeastTime)
        {
            CutPacking? both = CutPacking.ForStartPrice(graph.Network, runs, inchesPerStart, cancellation);
            if (both is not null && Math.Abs(both.LeastInches - doubled) <= Tolerance)
            {
                return both;
            }
        }
        else if (doubled == 0)
        {
            return new([], 0);
        }

        CutPacking? packing = CutPacking.ForRuns(graph.Network, runs, cancellation);
        if (packing is not null && Math.Abs(packing.LeastInches - doubled) <= Tolerance)
        {
            return packing;
        }

        leastDoubled = new LeastDoubling(graph.Network, null, cancellation).LeastInches(runs);
        return packing is not null && Math.Abs(packing.LeastInches - leastDoubled) <= Tolerance ? packing : null;
    }

    /// <summary>The fields, for the object <c>proof</c>.</summary>
    public UnknownFields Write(CutPacking? packing)
    {
        UnknownFields fields = UnknownFields.None.With(
            "thread",
            Element(json => json.WriteStringValue(thread.ToString().ToLowerInvariant()))
        );
        if (thread == ThreadChoice.Mixed)
        {
            fields = fields.With("startInches", inchesPerStart);
        }

        return fields
            .With("parity", Element(WriteParity))
            .With("certificate", Element(json => WriteCuts(json, packing)));
    }

    private void WriteParity(Utf8JsonWriter json)
    {
        int[] odd = new int[graph.PieceCount];
        int[] first = new int[graph.PieceCount];
        foreach (int v in graph.Odd)
        {
            odd[graph.PieceOf(v)]++;
        }

        for (int v = graph.Map.Junctions.Count - 1; v >= 0; v--)
        {
            if (graph.PieceOf(v) is >= 0 and int p)
            {
                first[p] = v;
            }
        }

        json.WriteStartArray();
        for (int p = 0; p < odd.Length; p++)
        {
            json.WriteStartObject();
            json.WriteString("at", graph.Map.Junctions[first[p]].Id);
            json.WriteNumber("odd", odd[p]);
            json.WriteNumber("starts", Math.Max(1, odd[p] / 2));
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private void WriteCuts(Utf8JsonWriter json, CutPacking? packing)
    {
        if (packing is null)
        {
            json.WriteNullValue();
            return;
        }

        json.WriteStartObject();
        json.WriteStartArray("cuts");
        foreach (PricedCut cut in packing.Cuts)
        {
            json.WriteStartObject();
            json.WriteNumber("inches", cut.Inches);
            json.WriteStartArray("within");
            foreach (int c in cut.Within)
            {
                json.WriteNumberValue(c);
            }

            json.WriteEndArray();
            json.WriteStartArray("junctions");
            foreach (int v in cut.Junctions)
            {
                json.WriteStringValue(graph.Map.Junctions[v].Id);
            }

            json.WriteEndArray();
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }

    private static JsonElement Element(Action<Utf8JsonWriter> write)
    {
        ArrayBufferWriter<byte> buffer = new();
        using (Utf8JsonWriter json = new(buffer))
        {
            write(json);
        }

        using JsonDocument document = JsonDocument.Parse(buffer.WrittenMemory);
        return document.RootElement.Clone();
    }
}
