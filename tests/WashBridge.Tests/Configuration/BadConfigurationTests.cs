using WashBridge.Configuration;

namespace WashBridge.Tests.Configuration;

/// <summary>
/// One file a rule in <c>Bad/</c>, and in <c>BadOpcUa/</c> for those of OPC UA: which file of the good configuration is spoilt and how, the problems that must be reported, all and no others,
/// and whether the published schema sees it too, so that an editor warns while typing. Set WASHBRIDGE_WRITE_EXPECTED=1 to write what is
/// reported into the fixtures after changing a message; read the difference before keeping it.
/// </summary>
public sealed class BadConfigurationTests
{
    private static readonly string Folder = Path.Combine(Repository.Root, "tests/WashBridge.Tests/Configuration");

    public static TheoryData<string, string> Fixtures => [.. NamesIn("Bad").Concat(NamesIn("BadOpcUa"))];

    [Theory]
    [MemberData(nameof(Fixtures))]
    public void A_bad_configuration_is_refused_with_file_line_field_found_and_allowed(string folder, string name)
    {
        var bad = BadFixture.Read(Path.Combine(Folder, folder, name + ".yaml"));
        using var fixture = new ConfigurationFixture(folder.Replace("Bad", "Good", StringComparison.Ordinal));
        bad.Spoil(fixture);

        var problems = fixture.Problems();
        var schemaAccepts = Schemas.Accepts(fixture.Folder, bad.File);
        if (Environment.GetEnvironmentVariable("WASHBRIDGE_WRITE_EXPECTED") == "1")
        {
            bad.WriteExpected(problems, schemaAccepts);
        }

        Assert.NotEmpty(problems);
        Assert.Equal(bad.Problems, problems);
        Assert.Equal(bad.SchemaAccepts, schemaAccepts);
    }

    [Fact]
    public void A_site_with_problems_is_never_given_out()
    {
        using var fixture = new ConfigurationFixture();
        fixture.Replace("washers/w1.yaml", "port: 1502", "port: 70000");
        Assert.Null(fixture.Load().Site);
    }

    [Fact]
    public void Problems_of_all_files_are_reported_at_once_in_reading_order()
    {
        using var fixture = new ConfigurationFixture();
        fixture.Replace("recipes/minimal.yaml", "version: 1", "version: 0");
        fixture.Replace("washers/w1.yaml", "port: 1502", "port: 70000");
        fixture.Replace("washers/w1.yaml", "stations: 2", "stations: 20");
        fixture.Replace("site.yaml", "port: 8480", "port: 0");
        Assert.Equal(["http.port", "stations", "connection.port", "version"], fixture.Load().Problems.Where(p => p.Allowed.StartsWith("a whole number", StringComparison.Ordinal) && !p.Place.Field.StartsWith("tags", StringComparison.Ordinal)).Select(p => p.Place.Field));
    }

    [Fact]
    public void A_missing_site_file_is_a_problem_not_an_exception()
    {
        var loaded = ConfigurationLoader.Load("no/such/site.yaml");
        Assert.Null(loaded.Site);
        Assert.Equal("no/such/site.yaml:1:1: there is no such file; found \"no/such/site.yaml\"; allowed: a file that exists, named relative to the file that names it", Assert.Single(loaded.Problems).ToString());
    }

    [Fact]
    public void A_file_that_is_not_UTF_8_is_refused()
    {
        using var fixture = new ConfigurationFixture();
        File.WriteAllBytes(Path.Combine(fixture.Folder, "recipes/minimal.yaml"), [0x72, 0x3A, 0x20, 0xFC, 0x0A]);
        Assert.Contains("washers/w2.yaml:35:9: recipe: the file recipes/minimal.yaml is not UTF-8 text; found other bytes; allowed: save it as UTF-8", fixture.Problems());
    }

    [Fact]
    public void A_file_that_is_far_too_large_is_refused_unread()
    {
        using var fixture = new ConfigurationFixture();
        using (var file = File.OpenWrite(Path.Combine(fixture.Folder, "recipes/minimal.yaml")))
        {
            file.SetLength(SourceFiles.MaxFileBytes + 1);
        }

        Assert.Contains("washers/w2.yaml:35:9: recipe: the file recipes/minimal.yaml is too large; found 4194305 bytes; allowed: at most 4194304 bytes", fixture.Problems());
    }

    private static IEnumerable<(string Folder, string Name)> NamesIn(string folder) =>
        Directory.GetFiles(Path.Combine(Folder, folder), "*.yaml").Select(f => (folder, Path.GetFileNameWithoutExtension(f))).OrderBy(f => f.Item2, StringComparer.Ordinal);
}
