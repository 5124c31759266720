using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

/// <summary>A sawtooth star as it was found in a made photograph: nearly square, so that some turns fit it and some just do not.</summary>
public class NearlySquareBlockTests
{
    // Of its eight turns and mirrors those within an eighth of an inch are no group: a quarter turn fits, a half turn does not.
    private const string Found = """
        {"format":"overlayplanner.quilt-map","version":1,"unit":"in","size":{"width":40,"height":26},"junctions":[{"id":"j1","x":0,"y":0,
        "sigma":0.03},{"id":"j2","x":3.007,"y":0,"sigma":0.03},{"id":"j3","x":8.957,"y":0,"sigma":0.03},{"id":"j4","x":11.979,"y":0,
        "sigma":0.03},{"id":"j13","x":0,"y":2.949,"sigma":0.03},{"id":"j14","x":5.954,"y":2.963,"sigma":0.03},{"id":"j18","x":3.006,
        "y":3.043,"sigma":0.03},{"id":"j19","x":8.989,"y":3.036,"sigma":0.03},{"id":"j27","x":11.987,"y":3.053,"sigma":0.03},{"id":"j30",
        "x":3.057,"y":6.044,"sigma":0.03},{"id":"j31","x":8.935,"y":6.027,"sigma":0.03},{"id":"j34","x":8.929,"y":8.968,"sigma":0.03},
        {"id":"j35","x":12.002,"y":8.963,"sigma":0.03},{"id":"j40","x":2.955,"y":9.012,"sigma":0.03},{"id":"j41","x":5.99,"y":8.983,
        "sigma":0.03},{"id":"j47","x":0,"y":9.034,"sigma":0.03},{"id":"j49","x":2.986,"y":11.995,"sigma":0.03},{"id":"j50","x":11.994,
        "y":11.973,"sigma":0.03},{"id":"j54","x":0,"y":12.037,"sigma":0.03},{"id":"j55","x":9.0,"y":12.013,"sigma":0.03}],
        "seams":[{"id":"s1","from":"j1","to":"j2","bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s2",
        "from":"j1","to":"j13","bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s3","from":"j2","to":"j3",
        "bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s4","from":"j2","to":"j14","bulge":0,"role":"seam",
        "edge":null,"ditch":null,"confidence":0.99},{"id":"s5","from":"j2","to":"j18","bulge":0,"role":"seam","edge":null,"ditch":null,
        "confidence":0.99},{"id":"s6","from":"j3","to":"j4","bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s7",
        "from":"j3","to":"j14","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s8","from":"j3","to":"j19",
        "bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s10","from":"j4","to":"j27","bulge":0,"role":"block",
        "edge":null,"ditch":null,"confidence":0.99},{"id":"s30","from":"j13","to":"j18","bulge":0,"role":"seam","edge":null,"ditch":null,
        "confidence":0.99},{"id":"s31","from":"j13","to":"j30","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},
        {"id":"s32","from":"j13","to":"j47","bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s33","from":"j14",
        "to":"j18","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s34","from":"j14","to":"j19","bulge":0,
        "role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s43","from":"j18","to":"j30","bulge":0,"role":"seam","edge":null,
        "ditch":null,"confidence":0.99},{"id":"s44","from":"j19","to":"j27","bulge":0,"role":"seam","edge":null,"ditch":null,
        "confidence":0.99},{"id":"s45","from":"j19","to":"j31","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},
        {"id":"s58","from":"j27","to":"j31","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s59","from":"j27",
        "to":"j35","bulge":0,"role":"block","edge":null,"ditch":"right","ditchWhy":"the light","ditchConfidence":0.822,"confidence":0.99},
        {"id":"s64","from":"j30","to":"j40","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s65","from":"j30",
        "to":"j47","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s66","from":"j31","to":"j34","bulge":0,
        "role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s67","from":"j31","to":"j35","bulge":0,"role":"seam","edge":null,
        "ditch":null,"confidence":0.99},{"id":"s72","from":"j34","to":"j35","bulge":0,"role":"seam","edge":null,"ditch":null,
        "confidence":0.99},{"id":"s73","from":"j34","to":"j41","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},
        {"id":"s74","from":"j34","to":"j55","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s75","from":"j35",
        "to":"j50","bulge":0,"role":"block","edge":null,"ditch":null,"confidence":0.99},{"id":"s86","from":"j40","to":"j41","bulge":0,
        "role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s87","from":"j40","to":"j47","bulge":0,"role":"seam","edge":null,
        "ditch":null,"confidence":0.99},{"id":"s88","from":"j40","to":"j49","bulge":0,"role":"seam","edge":null,"ditch":null,
        "confidence":0.99},{"id":"s89","from":"j41","to":"j49","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},
        {"id":"s90","from":"j41","to":"j55","bulge":0,"role":"seam","edge":null,"ditch":null,"confidence":0.99},{"id":"s100","from":"j47",
        "to":"j54","bulge":0,"role":"edge","edge":"raw","ditch":null,"confidence":1},{"id":"s102","from":"j49","to":"j54","bulge":0,
        "role":"block","edge":null,"ditch":null,"confidence":0.99},{"id":"s103","from":"j49","to":"j55","bulge":0,"role":"block",
        "edge":null,"ditch":"right","ditchWhy":"the light","ditchConfidence":0.813,"confidence":0.99},{"id":"s104","from":"j50",
        "to":"j55","bulge":0,"role":"block","edge":null,"ditch":null,"confidence":0.99}],"patches":[{"id":"p1","seams":["s7","s4","s3"],
        "holes":[],"color":null,"leave":false},{"id":"p5","seams":["s8","s34","s7"],"holes":[],"color":null,"leave":false},{"id":"p7",
        "seams":["s5","s30","s2","s1"],"holes":[],"color":null,"leave":false},{"id":"p8","seams":["s33","s5","s4"],"holes":[],
        "color":null,"leave":false},{"id":"p15","seams":["s10","s44","s8","s6"],"holes":[],"color":null,"leave":false},{"id":"p18",
        "seams":["s43","s31","s30"],"holes":[],"color":null,"leave":false},{"id":"p21","seams":["s58","s45","s44"],"holes":[],
        "color":null,"leave":false},{"id":"p23","seams":["s34","s45","s66","s73","s86","s64","s43","s33"],"holes":[],"color":null,
        "leave":false},{"id":"p26","seams":["s65","s32","s31"],"holes":[],"color":null,"leave":false},{"id":"p28","seams":["s59","s67",
        "s58"],"holes":[],"color":null,"leave":false},{"id":"p35","seams":["s67","s72","s66"],"holes":[],"color":null,"leave":false},
        {"id":"p38","seams":["s87","s65","s64"],"holes":[],"color":null,"leave":false},{"id":"p44","seams":["s89","s88","s86"],"holes":[],
        "color":null,"leave":false},{"id":"p45","seams":["s75","s104","s74","s72"],"holes":[],"color":null,"leave":false},{"id":"p47",
        "seams":["s74","s90","s73"],"holes":[],"color":null,"leave":false},{"id":"p49","seams":["s90","s103","s89"],"holes":[],
        "color":null,"leave":false},{"id":"p52","seams":["s88","s102","s100","s87"],"holes":[],"color":null,"leave":false}],
        "blocks":[{"id":"b1","corners":[[0,0],[11.979,0],[11.994,11.973],[0,12.037]],"row":0,"column":0,"pattern":"sawtooth-star",
        "turn":0,"mirror":false,"patches":["p1","p5","p7","p8","p15","p18","p21","p23","p26","p28","p35","p38","p44","p45","p47","p49",
        "p52"]}]}
        """;

    [Theory]
    [InlineData(ThreadChoice.Free)]
    [InlineData(ThreadChoice.One)]
    [InlineData(ThreadChoice.Mixed)]
    public void No_line_is_added_twice_and_none_of_the_seams_is_missed(ThreadChoice thread)
    {
        QuiltMap map = QuiltMapFile.Read(Encoding.UTF8.GetBytes(Found), "found.json");
        RoutePlan plan = RoutePlanner.Plan(
            map,
            new() { Thread = thread, Outline = OutlineChoice.None },
            TestContext.Current.CancellationToken
        );
        Assert.NotEmpty(plan.Route.Candidates);
        foreach (RouteCandidate c in plan.Route.Candidates)
        {
            Edge<ClothSpace>[] added =
            [
                .. c.AllMoves.Where(m => m.Seam is null && m.Kind != MoveKind.Retrace).Select(m => m.Path),
            ];
            for (int i = 0; i < added.Length; i++)
            {
                Assert.DoesNotContain(added.Skip(i + 1), e => IsSame(e, added[i]) || IsSame(e.Reversed, added[i]));
            }

            Assert.Equal(
                map.Seams.Where(s => s.Role != SeamRole.Edge).Select(s => s.Id).Order(),
                c.AllMoves.Where(m => m.Kind == MoveKind.Ditch).Select(m => m.Seam!).Order()
            );
        }
    }

    private static bool IsSame(Edge<ClothSpace> a, Edge<ClothSpace> b) =>
        a.From.DistanceTo(b.From) < 1e-9 && a.To.DistanceTo(b.To) < 1e-9 && Math.Abs(a.Bulge - b.Bulge) < 1e-3;
}
