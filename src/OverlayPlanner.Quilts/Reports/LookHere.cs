using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Reports;

/// <summary>A place that a person should compare with the cloth.</summary>
/// <param name="Area">Cloth to show, inches.</param>
/// <param name="Seams">Ids of doubtful seams in it, the least sure first.</param>
/// <param name="Missing">Lines that may be seams and are not in the map, the likeliest first.</param>
/// <param name="Points">Ids of points in it whose place is little known.</param>
/// <param name="Doubt">How likely the map is wrong here, 0 to 1: the worst of what is in it.</param>
public sealed record LookPlace(
    Box<ClothSpace> Area,
    IReadOnlyList<string> Seams,
    IReadOnlyList<SeamLine> Missing,
    IReadOnlyList<string> Points,
    double Doubt
);

/// <summary>Where to look first.</summary>
/// <param name="Places">The worst first.</param>
/// <param name="MoreSeams">Doubtful seams and lines that are in none of the places.</param>
/// <param name="SureFrom">A seam from this confidence on counts as sure.</param>
public sealed record LookHere(IReadOnlyList<LookPlace> Places, int MoreSeams, double SureFrom);
