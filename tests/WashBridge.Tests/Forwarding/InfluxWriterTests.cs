using System.Net;
using System.Text;
using WashBridge.Configuration;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

/// <summary>The request as it leaves, and what is made of the answer.</summary>
public sealed class InfluxWriterTests
{
    private static readonly InfluxConfiguration Native = new() { Id = "plant", Url = new Uri("https://influx.example/base/"), Api = 1, Bucket = "keg wash", RetentionPolicy = "two years", User = "bridge", Secret = "päss:word" };

    private static readonly InfluxConfiguration Second = new() { Id = "plant", Url = new Uri("https://influx.example/base/"), Api = 2, Bucket = "keg", Organisation = "north", Secret = "t0ken" };

    [Fact]
    public async Task A_1x_server_is_written_to_at_its_own_address_with_basic_authentication()
    {
        var request = await WriteAsync(Native);
        Assert.Equal("https://influx.example/base/write?db=keg%20wash&rp=two%20years&precision=ns", request.Uri.AbsoluteUri);
        Assert.Equal("Basic " + Convert.ToBase64String(Encoding.UTF8.GetBytes("bridge:päss:word")), request.Authorisation);
        Assert.Equal(HttpMethod.Post, request.Method);
        Assert.Equal(["m f=1i 1", "m f=2i 2"], request.Lines);
    }

    [Fact]
    public async Task A_1x_server_without_user_and_retention_policy_is_sent_neither()
    {
        var request = await WriteAsync(Native with { Url = new Uri("http://influx.example:8086"), Bucket = "keg", RetentionPolicy = null, User = null, Secret = null });
        Assert.Equal("http://influx.example:8086/write?db=keg&precision=ns", request.Uri.AbsoluteUri);
        Assert.Null(request.Authorisation);
    }

    [Fact]
    public async Task A_2x_server_is_written_to_at_its_own_address_with_a_token()
    {
        var request = await WriteAsync(Second);
        Assert.Equal("https://influx.example/base/api/v2/write?org=north&bucket=keg&precision=ns", request.Uri.AbsoluteUri);
        Assert.Equal("Token t0ken", request.Authorisation);
        Assert.Equal(["m f=1i 1", "m f=2i 2"], request.Lines);
    }

    [Theory]
    [InlineData(HttpStatusCode.BadRequest, """{"error":"unable to parse 'm f=oops 3'"}""", (int)InfluxFailure.Lines, "400 Bad Request: unable to parse 'm f=oops 3'")]
    [InlineData(HttpStatusCode.UnprocessableEntity, """{"code":"unprocessable entity","message":"failure writing points"}""", (int)InfluxFailure.Lines, "422 Unprocessable Entity: failure writing points")]
    [InlineData(HttpStatusCode.RequestEntityTooLarge, "<html>", (int)InfluxFailure.Lines, "413 Request Entity Too Large: <html>")]
    [InlineData(HttpStatusCode.BadRequest, "<html>\nBad Request", (int)InfluxFailure.Unexpected, "400 Bad Request: <html> Bad Request")]
    [InlineData(HttpStatusCode.OK, "<html>", (int)InfluxFailure.Unexpected, "200 OK: <html>")]
    [InlineData(HttpStatusCode.Accepted, "", (int)InfluxFailure.Unexpected, "202 Accepted")]
    [InlineData(HttpStatusCode.Unauthorized, """{"error":"authorization failed"}""", (int)InfluxFailure.Unauthorised, "401 Unauthorized: authorization failed")]
    public async Task Anything_but_204_is_a_failure_with_the_servers_words(HttpStatusCode status, string body, int failure, string reason)
    {
        var refused = await Assert.ThrowsAsync<InfluxWriteException>(() => WriteAsync(Second, () => FakeInflux.Say(status, body)));
        Assert.Equal((InfluxFailure)failure, refused.Failure);
        Assert.Equal(reason, refused.Message);
        Assert.Equal(status, refused.Status);
    }

    [Fact]
    public async Task A_long_complaint_is_cut()
    {
        var refused = await Assert.ThrowsAsync<InfluxWriteException>(() => WriteAsync(Native, () => FakeInflux.Say(HttpStatusCode.BadRequest, $$"""{"error":"{{new string('x', 100_000)}}"}""")));
        Assert.Equal(InfluxFailure.Lines, refused.Failure);
        Assert.InRange(refused.Message.Length, 1000, 2100);
    }

    [Fact]
    public async Task The_original_cause_of_a_broken_connection_is_kept()
    {
        var refused = await Assert.ThrowsAsync<InfluxWriteException>(() => WriteAsync(Native, () => throw new HttpRequestException("refused", new System.Net.Sockets.SocketException(111))));
        Assert.Equal(InfluxFailure.Unreachable, refused.Failure);
        Assert.IsType<HttpRequestException>(refused.InnerException);
        Assert.Null(refused.Status);
    }

    private static async Task<FakeInflux.Request> WriteAsync(InfluxConfiguration configuration, Func<HttpResponseMessage>? answer = null)
    {
        var influx = new FakeInflux();
        if (answer is not null)
        {
            influx.AnswerWith(answer);
        }

        using var writer = new InfluxWriter(configuration, new RecordingTime(), influx);
        await writer.WriteAsync("m f=1i 1\nm f=2i 2"u8.ToArray(), TestContext.Current.CancellationToken);
        return Assert.Single(influx.All);
    }
}
