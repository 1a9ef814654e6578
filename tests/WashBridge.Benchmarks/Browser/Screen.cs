namespace WashBridge.Benchmarks.Browser;

/// <summary>Where pages are read.</summary>
public sealed record Screen(string Name, int Width, int Height, bool IsTouch)
{
    public static readonly Screen Phone = new("phone", 360, 740, true);
    public static readonly Screen Tablet = new("tablet", 820, 1180, true);
    public static readonly Screen Desk = new("desk", 1440, 900, false);
    public static readonly Screen Wall = new("wall", 3840, 2160, false);

    public static readonly IReadOnlyList<Screen> All = [Phone, Tablet, Desk, Wall];
}
