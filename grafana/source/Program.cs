using WashBridge.Grafana;

if (args is not [var folder] || !Directory.Exists(folder))
{
    Console.Error.WriteLine("Give the folder to write to, which must exist. Example: dotnet run --project grafana/source -- grafana");
    return 1;
}

foreach (var (name, content) in Files.All)
{
    var path = Path.Combine(folder, name);
    Directory.CreateDirectory(Path.GetDirectoryName(path)!);
    File.WriteAllText(path, content);
    Console.WriteLine(path);
}

return 0;
