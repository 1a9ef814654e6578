namespace WashBridge.Benchmarks.Analysis.Forecasts;

internal static class ForecastReport
{
    public static void Print(IEnumerable<ForecastFigures> table)
    {
        Console.WriteLine("share  kind              lives given   cover earlier   later  error  upper/lower   (bars: cover 0.75 to 0.85; error at 0.5 below 0.25)");
        foreach (var f in table)
        {
            Console.WriteLine($"{f.Share,5} {f.Group,-18} {f.Lives,5} {f.Given,5} {f.Coverage,7:F3} {f.Earlier,7:F3} {f.Later,7:F3} {f.MedianError,6:F3} {f.MedianRatio,7:F2}");
        }
    }
}
