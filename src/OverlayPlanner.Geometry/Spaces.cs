namespace OverlayPlanner.Geometry;

/// <summary>A coordinate space. Points of two spaces never mix: that does not compile.</summary>
public interface ISpace;

/// <summary>Pixels of the full-size photograph after its EXIF turn; x right, y down, pixel centres at integers.</summary>
public abstract class PhotoSpace : ISpace
{
    private PhotoSpace() { }
}

/// <summary>Pixels of a rectified picture of the cloth; x right, y down, pixel centres at integers.</summary>
public abstract class PictureSpace : ISpace
{
    private PictureSpace() { }
}

/// <summary>The quilt's plane in inches; x right, y down, origin at the top left of the mapped area.</summary>
public abstract class ClothSpace : ISpace
{
    private ClothSpace() { }
}

/// <summary>A PDF page in points, 1/72 in; x right, y down from the page's top left.</summary>
public abstract class PageSpace : ISpace
{
    private PageSpace() { }
}

/// <summary>A plotter's plane in millimetres; the device says which way y goes.</summary>
public abstract class PlotterSpace : ISpace
{
    private PlotterSpace() { }
}

/// <summary>A projector's pixels; x right, y down, pixel centres at integers.</summary>
public abstract class ProjectorSpace : ISpace
{
    private ProjectorSpace() { }
}
