using WashBridge.Benchmarks;

var benches = typeof(IBench).Assembly.GetTypes()
    .Where(t => t.IsClass && t.IsAssignableTo(typeof(IBench)))
    .Select(t => (IBench)Activator.CreateInstance(t)!)
    .OrderBy(b => b.Name, StringComparer.Ordinal)
    .ToList();

using var stop = new CancellationTokenSource();
Console.CancelKeyPress += (_, e) =>
{
    e.Cancel = true;
    stop.Cancel();
};

if (args.Length > 0 && benches.Find(b => b.Name == args[0]) is { } bench)
{
    await bench.RunAsync(args[1..], stop.Token);
    return 0;
}

Console.WriteLine("usage: dotnet run -c Release --project tests/WashBridge.Benchmarks -- NAME [ARGUMENTS]");
foreach (var each in benches)
{
    Console.WriteLine($"  {each.Name,-24} {each.What}");
}

return args.Length == 0 ? 0 : 2;
