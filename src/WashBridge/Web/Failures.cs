using Microsoft.AspNetCore.Diagnostics;
using WashBridge.Web.Accounts;

namespace WashBridge.Web;

/// <summary>
/// What is answered where nothing else was: a page for people, problem details (RFC 9457) for programs. What went wrong inside stands in the log alone.
/// </summary>
internal static class Failures
{
    /// <summary>Of the page; the status follows.</summary>
    public const string PagePath = "/answer";

    public static void Use(IApplicationBuilder app)
    {
        app.UseWhen(context => IsForProgram(context), program => program.UseStatusCodePages());
        app.UseWhen(context => !IsForProgram(context), person => person.UseStatusCodePagesWithReExecute(PagePath + "/{0}", createScopeForStatusCodePages: true));
        app.Use((context, next) =>
        {
            // The page about a request that was refused is only looked at: what was sent with the request is not taken a second time.
            if (context.Features.Get<IStatusCodeReExecuteFeature>() is not null)
            {
                context.Request.Method = HttpMethods.Get;
            }

            return next(context);
        });
        app.UseExceptionHandler(new ExceptionHandlerOptions { ExceptionHandler = FailedAsync, SuppressDiagnosticsCallback = _ => true });
    }

    private static bool IsForProgram(HttpContext context) =>
        ProgramAddresses.Cover(context.Request.Path) || !(HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method) || context.Request.HasFormContentType);

    private static Task FailedAsync(HttpContext context)
    {
        var failure = context.Features.Get<IExceptionHandlerFeature>()?.Error;
        if (failure is BadHttpRequestException bad)
        {
            context.Response.StatusCode = bad.StatusCode;
        }
        else if (failure is not null)
        {
            AccessLog.RequestFailed(context.RequestServices.GetRequiredService<ILoggerFactory>().CreateLogger(typeof(Failures).FullName!), failure, context.Request.Method, context.Request.Path);
        }

        return Task.CompletedTask;
    }
}
