using System.Text.Encodings.Web;
using System.Text.Json.Serialization;
using System.Text.Unicode;
using Microsoft.AspNetCore.OpenApi;
using Microsoft.OpenApi;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Api;

/// <summary>The OpenAPI document of the API, which needs a login like all else.</summary>
internal static class ApiDocument
{
    public const string Name = "v1";
    public const string Path = ApiEndpoints.Root + "/openapi.json";

    private const string Scheme = "token";

    public static void Add(IServiceCollection services)
    {
        services.ConfigureHttpJsonOptions(o =>
        {
            o.SerializerOptions.Converters.Add(new JsonStringEnumConverter());

            // Letters stay readable, and what means something in HTML is escaped, although nobody should take JSON for that.
            o.SerializerOptions.Encoder = JavaScriptEncoder.Create(UnicodeRanges.All);
        });
        services.AddOpenApi(Name, options =>
        {
            options.ShouldInclude = description => $"/{description.RelativePath}".StartsWith(ApiEndpoints.Root + "/", StringComparison.Ordinal);
            options.AddDocumentTransformer(DescribeAsync);
        });
    }

    /// <summary>There is one document: nothing in the address chooses another.</summary>
    public static void Map(IEndpointRouteBuilder routes) => routes.MapOpenApi(Path).RequireAuthorization(Policies.View).AddEndpointFilter((context, next) =>
        context.HttpContext.Request.Query.Count == 0 ? next(context)
        : ValueTask.FromResult<object?>(Results.Problem($"there is no parameter {ApiQuery.Found(context.HttpContext.Request.Query.Keys.First())}; allowed: none", statusCode: StatusCodes.Status400BadRequest)));

    private static Task DescribeAsync(OpenApiDocument document, OpenApiDocumentTransformerContext context, CancellationToken cancellation)
    {
        document.Info = new OpenApiInfo
        {
            Title = "WashBridge",
            Version = Name,
            Description = """
                What keg washers did, what it proves, and what people told. Nothing here writes to a washer.

                Times are UTC, ISO 8601 with six decimals; where something cannot be known to the instant, there is an earliest and a latest one. Values carry the unit of their signal.
                Pages are followed by a cursor: give 'next' of one page as 'after' of the next. Answers carry an ETag; with If-None-Match what has not changed is answered with 304.
                Metrics are at /metrics, in the text format of Prometheus; /health/live tells anybody that the service answers, /health/ready what of it does its work.
                Errors are problem details (RFC 9457): 'detail' says what was found and what is allowed.

                WashBridge is a monitor, not a safety function. Hot caustic, acids and oxidising sanitisers burn, CO2 suffocates, kegs are pressure vessels: follow the site's own procedures.
                """,
        };
        document.Servers = [];
        document.Components ??= new OpenApiComponents();
        document.Components.SecuritySchemes ??= new Dictionary<string, IOpenApiSecurityScheme>();
        document.Components.SecuritySchemes[Scheme] = new OpenApiSecurityScheme
        {
            Type = SecuritySchemeType.Http,
            Scheme = "bearer",
            Description = "A token that an administrator made, on the page Users or by 'washbridge tokens add'. On loopback without login none is needed.",
        };
        document.Security = [new OpenApiSecurityRequirement { [new OpenApiSecuritySchemeReference(Scheme, document)] = [] }];
        return Task.CompletedTask;
    }
}
