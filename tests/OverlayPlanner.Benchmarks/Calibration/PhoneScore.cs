using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// How well the plane of the cards holds where the camera is no pinhole at rest and the cloth no table, against the targets that
/// hold for those; and whether a card that is amiss is found and named. Fixed seeds.
/// </summary>
internal static class PhoneScore
{
    private const double Sixteenth = 1.0 / 16;

    // How many points across and down the area.
    private const int Across = 8;

    public static void Add(List<(string, string, string, bool)> rows, bool quick)
    {
        foreach (PhoneExtra extra in Enum.GetValues<PhoneExtra>())
        {
            CardLayout[] layouts = [CardLayout.WholeTop, CardLayout.LoadedBand];
            foreach (CardLayout layout in extra == PhoneExtra.Moved ? [CardLayout.LoadedBand] : layouts)
            {
                int scenes = quick
                    ? extra == PhoneExtra.Moved
                        ? 1
                        : 2
                    : extra == PhoneExtra.Moved
                        ? 3
                        : 5;
                foreach ((string with, Case found) in Measure(extra, layout, scenes))
                {
                    found.AddRows(rows, Name(extra, layout, scenes) + with);
                }
            }
        }
    }

    /// <summary>Measures one extra over some scenes, once for each profile that the photos are solved with.</summary>
    public static IReadOnlyList<(string Profile, Case Found)> Measure(PhoneExtra extra, CardLayout layout, int scenes)
    {
        IReadOnlyList<(string Name, LensProfile? Lens)> profiles = PhoneScene.Profiles(extra);
        (string Name, Case Found)[] cases = [.. profiles.Select(p => (p.Name, new Case()))];
        for (int k = 0; k < scenes; k++)
        {
            int seed = 80_000 + 100 * (int)extra + 50 * (int)layout + k;
            PhoneScene scene = PhoneScene.Draw(extra, layout, seed);
            double blur = 0.5 + new Random(seed).NextDouble();
            Photo[] made =
            [
                .. scene.Photos.Select((s, p) => CardRenderer.Render(s, p, new PhotoSpoil(blur, 2, 92), seed)),
            ];
            for (int i = 0; i < cases.Length; i++)
            {
                cases[i].Found.Add(scene, made, profiles[i].Lens);
            }
        }

        return cases;
    }

    private static string Name(PhoneExtra extra, CardLayout layout, int scenes)
    {
        string area = layout == CardLayout.WholeTop ? "76 × 46 in, 6 cards" : "band 18 × 90 in, 10 cards";
        string what = extra switch
        {
            PhoneExtra.MildFisheye => "ultra-wide after its own correction",
            PhoneExtra.StrongFisheye => "fisheye-like lens",
            PhoneExtra.Shake => "rows read while the hand moves",
            PhoneExtra.QuarterWaves => "waves of 1/4 in, stiff cards",
            PhoneExtra.HalfWaves => "waves of 1/2 in, stiff cards",
            PhoneExtra.DrapedCards => "waves of 1/4 in, cards that follow them",
            PhoneExtra.CornerUp => "one card's corner up by 3/8 in",
            PhoneExtra.Lifted => "one card 3/8 in over the cloth",
            _ => "3 photos, one card moved by 1/2 in between",
        };
        return string.Create(CultureInfo.InvariantCulture, $"{scenes} scenes, {area}, {what}");
    }

    /// <summary>What came out for one extra.</summary>
    internal sealed class Case
    {
        private readonly SortedDictionary<string, int> said = new(StringComparer.Ordinal);
        private int scenes;
        private int refused;
        private int seen;
        private int used;
        private int amiss;
        private int named;
        private int accused;
        private int unmapped;

        /// <summary>Errors at the points of the area.</summary>
        public ErrorTally Errors { get; } = new();

        /// <summary>Cards named and left out that lay as they should.</summary>
        public int Accused => accused;

        /// <summary>Cards amiss that were left out and named, of how many.</summary>
        public (int Named, int Of) Amiss => (named, amiss);

        /// <summary>Solves one scene and compares.</summary>
        public void Add(PhoneScene scene, IReadOnlyList<Photo> made, LensProfile? lens)
        {
            scenes++;
            CardsPlane plane;
            try
            {
                plane = PlaneFromCards.Solve(made, new() { Lens = lens, Printed = PrintedSize.Parse("7x9") });
            }
            catch (InputException refusal)
            {
                refused++;
                said[refusal.What] = said.GetValueOrDefault(refusal.What) + 1;
                return;
            }

            foreach (Finding finding in plane.Findings)
            {
                said[finding.What] = said.GetValueOrDefault(finding.What) + 1;
            }

            seen += plane.Cards.Count;
            used += plane.Cards.Count(c => c.Used);
            amiss += plane.Cards.Any(c => c.Card == scene.Amiss) ? 1 : 0;
            foreach (PlacedCard card in plane.Cards.Where(c => !c.Used))
            {
                bool rightly = card.Card == scene.Amiss;
                string called = "card " + card.Card.Number.ToString(CultureInfo.InvariantCulture);
                named +=
                    rightly
                    && plane.Findings.Any(f => (f.Where + " ").StartsWith(called + " ", StringComparison.Ordinal))
                        ? 1
                        : 0;
                accused += rightly ? 0 : 1;
            }

            Compare(scene, plane);
        }

        /// <summary>Adds the rows.</summary>
        public void AddRows(List<(string, string, string, bool)> rows, string name)
        {
            string also = string.Concat(said.Select(s => "; " + s.Key + " " + Number(s.Value)));
            if (Errors.Count == 0)
            {
                rows.Add((name + ": position", "no map" + also, Text($"P95 ≤ {Sixteenth:0.0000} in"), false));
                return;
            }

            double p95 = Errors.Quantile(0.95);
            string errors = Text(
                $"P95 {p95:0.0000} in, P50 {Errors.Quantile(0.5):0.0000} in, {Errors.Count} points; cards used {used} of {seen} found"
            );
            string lost =
                (refused > 0 ? Text($", {refused} of {scenes} scenes refused") : "")
                + (unmapped > 0 ? Text($", {unmapped} points without a place") : "");
            rows.Add(
                (
                    name + ": position",
                    errors + lost + also,
                    Text($"P95 ≤ {Sixteenth:0.0000} in"),
                    p95 <= Sixteenth && lost.Length == 0
                )
            );
            rows.Add(
                (
                    name + ": stated 95 % holds",
                    Text($"{100 * Errors.Region:0.0} % of {Errors.Count} points in {scenes} scenes"),
                    "≥ 93 %",
                    Errors.Region >= 0.93
                )
            );
            if (amiss > 0)
            {
                rows.Add(
                    (
                        name + ": the card is named and left out",
                        Text($"{named} of {amiss} found; others left out {accused}"),
                        "all, no other",
                        named == amiss && accused == 0
                    )
                );
            }
        }

        private void Compare(PhoneScene scene, CardsPlane plane)
        {
            CardTruth truth = scene.Photos[^1].Truth;
            Similarity<ClothSpace, ClothSpace> truthFromMap = StatedError.Lay(truth, plane);
            (double left, double top, double w, double h) = truth.Area;
            for (int k = 0; k < (Across + 1) * (Across + 1); k++)
            {
                double x = left + w * (k / (Across + 1)) / Across;
                double y = top + h * (k % (Across + 1)) / Across;
                int photo = 0;
                Point<PhotoSpace>? at = null;
                for (; photo < scene.Photos.Count && at is null; photo++)
                {
                    Point<PhotoSpace>? shown = scene.Photos[photo].OnCloth(photo, x, y);
                    at = truth.Shows(shown) ? shown : null;
                }

                if (at is not { } pixel)
                {
                    continue;
                }

                Point<ClothSpace> map = plane.Planes[photo - 1].ClothFromPhoto.Apply(pixel);
                if (!map.IsFinite)
                {
                    unmapped++;
                    continue;
                }

                Point<ClothSpace> laid = truthFromMap.Apply(map);
                (double dx, double dy) = (laid.X - x, laid.Y - y);
                (double c, double s) = (truthFromMap.A, truthFromMap.B);
                Errors.Add(c * dx + s * dy, -s * dx + c * dy, plane.CovarianceAt(photo - 1, map));
            }
        }

        private static string Number(int n) => n.ToString(CultureInfo.InvariantCulture);

        private static string Text(FormattableString text) => FormattableString.Invariant(text);
    }
}
