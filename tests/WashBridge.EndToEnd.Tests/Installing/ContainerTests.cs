using System.Text.RegularExpressions;
using WashBridge.Benchmarks.Influx;
using WashBridge.EndToEnd.Tests.Program;
using YamlDotNet.RepresentationModel;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>What the container files say, run and read without an engine.</summary>
public sealed class ContainerTests : IDisposable
{
    private static readonly string Docker = Path.Combine(Repository.Root, "docker");

    private readonly TemporaryFolder _folder = new();

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Every_step_of_the_image_works_outside_of_one_and_its_health_check_sees_the_service()
    {
        var steps = Steps();
        await PrepareAsync();
        await Shell.RunAsync($"""
            cp -r docker/site {_folder["site"]}
            sed -i -e 's|/var/lib/washbridge|{_folder["state"]}|' -e '/^influx:/,$d' -e 's|port: 8480|port: {Port()}|' {_folder["site"]}/site.yaml
            sed -i -e 's|192.0.2.[0-9]*|127.0.0.1|' -e 's|port: 502$|port: 1|' -e 's|:4840|:1|' {_folder["site"]}/washers/*.yaml
            """, Sources);

        foreach (var step in steps.Where(s => s.Instruction == "RUN"))
        {
            await Shell.RunAsync(Here(step.Text), Sources);
        }

        var service = $"{Here(Words(steps, "ENTRYPOINT"))} {Here(Words(steps, "CMD"))}";
        var health = Here(Regex.Match(steps.Single(s => s.Instruction == "HEALTHCHECK").Text, @"CMD (\[.*\])").Groups[1].Value is var words ? Joined(words) : "");
        var output = await Shell.RunAsync($"""
            {health} && exit 9
            {service} > said.txt 2>&1 &
            until {health}; do kill -0 $!; sleep 0.3; done
            kill -TERM $!
            wait $!
            """, _folder.Root);
        Assert.Contains("has it ever run?", output);
        Assert.Contains("s old; allowed: 120 s", output);
    }

    [Fact]
    public void The_image_runs_as_a_number_that_is_not_root_and_keeps_its_records_in_a_volume()
    {
        var steps = Steps();
        Assert.Matches("^[1-9][0-9]+:[1-9][0-9]+$", steps.Single(s => s.Instruction == "USER").Text);
        Assert.Contains(("VOLUME", "/var/lib/washbridge"), steps);
        Assert.Contains(steps, s => s.Instruction == "COPY" && s.Text.EndsWith("--chown=1654:1654 /state /var/lib/washbridge", StringComparison.Ordinal));
    }

    [Fact]
    public async Task InfluxDB_is_healthy_only_when_its_last_user_has_been_set_up()
    {
        await using var server = await InfluxServer.StartAsync(Deadline, authentication: true);
        await File.WriteAllTextAsync(_folder["influx_admin"], InfluxServer.Password, Deadline);
        var said = Regex.Match(await File.ReadAllTextAsync(Path.Combine(Docker, "compose.yaml"), Deadline), "test: (influx .*)").Groups[1].Value;
        var check = said.Replace("$$", "$", StringComparison.Ordinal).Replace("/run/secrets", _folder.Root, StringComparison.Ordinal).Replace("influx ", $"influx -port {server.Url.Port} ", StringComparison.Ordinal);

        await server.CreateDatabaseAsync("washers", Deadline);
        Assert.NotEqual(0, (await Shell.TryAsync(check)).Exit);
        await server.QueryAsync("CREATE USER \"grafana\" WITH PASSWORD 'x'", Deadline);
        Assert.NotEqual(0, (await Shell.TryAsync(check)).Exit);
        await server.QueryAsync("GRANT READ ON \"washers\" TO \"grafana\"", Deadline);
        Assert.Equal(0, (await Shell.TryAsync(check)).Exit);
    }

    [Fact]
    public void The_version_is_the_same_wherever_it_is_written()
    {
        var version = Regex.Match(File.ReadAllText(Path.Combine(Repository.Root, "Directory.Build.props")), "<Version>(.*)</Version>").Groups[1].Value;
        Assert.Contains($"image.version=\"{version}\"", File.ReadAllText(Path.Combine(Docker, "Dockerfile")));
        Assert.Contains($"image: washbridge:{version}\n", File.ReadAllText(Path.Combine(Docker, "compose.yaml")));
        var installing = Path.Combine(Repository.Root, "src", "WashBridge", "Installing");
        Assert.Equal(2, Regex.Count(File.ReadAllText(Path.Combine(installing, "INSTALLING.md")), $"washbridge_{version}_amd64.deb"));
        Assert.StartsWith($"washbridge ({version}) ", File.ReadAllText(Path.Combine(installing, "debian", "changelog")), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_linter_of_another_house_finds_nothing_in_the_image_file()
    {
        var (exit, output) = await PeerProcess.RunAsync("node", "-e", $"console.log(JSON.stringify(require('dockerfile-utils').validate(require('fs').readFileSync('{Docker}/Dockerfile','utf8'))))");
        Assert.Equal((0, "[]"), (exit, output));
    }

    [Theory]
    [InlineData("compose.yaml")]
    [InlineData("compose.yaml", "compose.demo.yaml")]
    public async Task Compose_takes_the_files_and_nothing_in_them_has_rights_or_ports_to_spare(params string[] files)
    {
        await PrepareAsync();
        var merged = new YamlStream();
        merged.Load(new StringReader(await Shell.RunAsync($"docker-compose {string.Join(' ', files.Select(f => $"-f docker/{f}"))} config 2>/dev/null", Sources)));
        var services = ((YamlMappingNode)merged.Documents[0].RootNode["services"]).Children;
        Assert.Equal(3, services.Count);
        foreach (var (name, service) in services)
        {
            var says = (YamlMappingNode)service;
            Assert.Equal("true", (string)says["read_only"]!);
            Assert.Equal(["ALL"], Texts(says["cap_drop"]));
            Assert.Equal(["no-new-privileges:true"], Texts(says["security_opt"]));
            Assert.All(says.Children.TryGetValue("ports", out var ports) ? Texts(ports) : [], p => Assert.StartsWith("127.0.0.1:", p, StringComparison.Ordinal));
            if ((string)name! != "influxdb")
            {
                Assert.Equal("service_healthy", (string)says["depends_on"]["influxdb"]["condition"]!);
            }
        }
    }

    [Fact]
    public async Task What_is_prepared_has_other_passwords_each_time_and_a_second_time_changes_nothing()
    {
        await PrepareAsync();
        var output = await Shell.RunAsync("""
            cat docker/secrets/* | md5sum; find docker/secrets docker/site -type f | sort | xargs cat | md5sum
            docker/prepare
            find docker/secrets docker/site -type f | sort | xargs cat | md5sum
            for secret in docker/secrets/*; do wc -c < $secret; cat $secret; echo; done | sort | uniq -c
            stat -c %a docker/secrets
            """, Sources);
        var lines = output.Split('\n');
        Assert.Equal(lines[1], lines[2]);
        Assert.Equal(5, lines.Count(l => Regex.IsMatch(l, "^ +[0-9]+ ")));
        Assert.Contains("700", lines);
    }

    private string Sources => _folder["source"];

    /// <summary>The files that the engine would be sent, and what `prepare` makes of them.</summary>
    private Task PrepareAsync() => Shell.RunAsync($"""
        mkdir {Sources}
        git ls-files --cached --others --exclude-standard -- src config grafana docker '*.props' .dockerignore .editorconfig .gitignore | tar --create --files-from=- | tar --extract --directory={Sources}
        {Sources}/docker/prepare
        """);

    private string Here(string command) => Regex.Replace(command, "(?<![a-z])/(app|state)(?![a-z])", $"{_folder.Root}/$1").Replace("/etc/washbridge", _folder["site"], StringComparison.Ordinal);

    private static string Words(IReadOnlyList<(string Instruction, string Text)> steps, string instruction) => Joined(steps.Last(s => s.Instruction == instruction).Text);

    private static string Joined(string json) => string.Join(' ', System.Text.Json.JsonSerializer.Deserialize<string[]>(json)!);

    private static List<(string Instruction, string Text)> Steps() =>
        [.. Regex.Replace(string.Join('\n', File.ReadLines(Path.Combine(Docker, "Dockerfile")).Where(l => !l.StartsWith('#'))), @"\\\n\s*", "")
            .Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(l => l.Split(' ', 2)).Select(w => (w[0], w[1]))];

    private static List<string> Texts(YamlNode node) => [.. ((YamlSequenceNode)node).Select(n => (string)n!)];

    private static int Port() => InfluxServer.FreePort();
}
