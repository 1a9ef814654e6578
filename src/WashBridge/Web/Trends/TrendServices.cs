namespace WashBridge.Web.Trends;

/// <summary>What the pages of drift, upkeep, baths and sampling need.</summary>
internal static class TrendServices
{
    public static void Add(IServiceCollection services)
    {
        services.AddSingleton<FindingsBoard>();
        services.AddHostedService(provider => provider.GetRequiredService<FindingsBoard>());
        services.AddSingleton<PeerBoard>();
        services.AddSingleton<FigureChart>();
        services.AddSingleton<IndexChart>();
        services.AddSingleton<BathChart>();
        services.AddSingleton<PlanChart>();
        services.AddSingleton<LotBook>();
    }
}
