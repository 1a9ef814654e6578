using System.Globalization;
using System.Reflection;
using System.Security.Cryptography;
using Microsoft.AspNetCore.Mvc;
using WashBridge.Historian;
using WashBridge.Orders;

namespace WashBridge.Web.Api;

/// <summary>
/// What all of the API does: says which parameters there are where another is given, answers a request for what has not changed with 304 (RFC 9110, 13), and
/// turns what cannot be answered into problem details.
/// </summary>
internal static class ApiFilter
{
    /// <summary>An answer follows from the log and from the site's files, which are read at the start.</summary>
    private static readonly string Run = RandomNumberGenerator.GetHexString(8, lowercase: true);

    public static EndpointFilterDelegate Make(EndpointFilterFactoryContext factory, EndpointFilterDelegate next)
    {
        var known = ParametersOf(factory.MethodInfo);
        return context => AnswerAsync(context, known, next);
    }

    /// <summary>What an address takes behind its question mark, and in its path.</summary>
    public static IReadOnlyList<string> ParametersOf(MethodInfo handler) =>
    [
        .. handler.GetParameters().Where(p => p.ParameterType == typeof(string)).Select(p => p.Name!),
        .. handler.GetParameters().Where(p => p.IsDefined(typeof(AsParametersAttribute))).SelectMany(p => p.ParameterType.GetProperties()).Select(p => p.GetCustomAttribute<FromQueryAttribute>()?.Name).OfType<string>(),
    ];

    private static async ValueTask<object?> AnswerAsync(EndpointFilterInvocationContext context, IReadOnlyList<string> known, EndpointFilterDelegate next)
    {
        var http = context.HttpContext;
        try
        {
            foreach (var (name, values) in http.Request.Query)
            {
                if (!known.Contains(name, StringComparer.Ordinal) || http.Request.RouteValues.ContainsKey(name))
                {
                    var allowed = known.Where(k => !http.Request.RouteValues.ContainsKey(k)).ToList();
                    throw new ApiException($"there is no parameter {ApiQuery.Found(name)}; allowed: {(allowed.Count == 0 ? "none" : string.Join(", ", allowed))}");
                }

                if (values.Count != 1)
                {
                    throw new ApiException($"{name}: found {values.Count} times; allowed: once");
                }
            }

            if (HttpMethods.IsGet(http.Request.Method))
            {
                var tag = string.Create(CultureInfo.InvariantCulture, $"W/\"{Run}-{http.RequestServices.GetRequiredService<IHistorian>().LastSequence}\"");
                http.Response.Headers.ETag = tag;
                http.Response.Headers.CacheControl = "private, no-cache";
                if (http.Request.Headers.IfNoneMatch.ToString().Split(',', StringSplitOptions.TrimEntries).Contains(tag))
                {
                    return Results.StatusCode(StatusCodes.Status304NotModified);
                }
            }

            return await next(context);
        }
        catch (ApiException refused)
        {
            return Problem(refused.Status, refused.Message);
        }
        catch (TellingException refused)
        {
            return Problem(refused.IsConflict ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest, refused.Message);
        }
    }

    private static IResult Problem(int status, string detail) => Results.Problem(new ProblemDetails { Status = status, Detail = detail });
}
