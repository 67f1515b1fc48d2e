using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.Filters;

namespace School.Web.Platform.Layout;

/// <summary>
/// What no page hears: a form sent with a read, whose fields would take the place of those in the address without the token that a form carries, and a
/// form sent to a handler that is not there.
/// </summary>
internal sealed class PageRequests : IResourceFilter, IAsyncPageFilter
{
    public void OnResourceExecuting(ResourceExecutingContext context)
    {
        if (Reads(context.HttpContext) && context.HttpContext.Request.HasFormContentType)
        {
            context.Result = new BadRequestResult();
        }
    }

    public void OnResourceExecuted(ResourceExecutedContext context)
    {
    }

    public Task OnPageHandlerSelectionAsync(PageHandlerSelectedContext context) => Task.CompletedTask;

    public async Task OnPageHandlerExecutionAsync(PageHandlerExecutingContext context, PageHandlerExecutionDelegate next)
    {
        if (context.HandlerMethod is null && !Reads(context.HttpContext) && !TellsOfError(context.HttpContext))
        {
            context.Result = new StatusCodeResult(StatusCodes.Status405MethodNotAllowed);
            return;
        }

        await next();
    }

    /// <summary>The page of an error answers in the place of the one that was asked, by that one's method.</summary>
    private static bool TellsOfError(HttpContext http) => http.Features.Get<IStatusCodeReExecuteFeature>() is not null || http.Features.Get<IExceptionHandlerFeature>() is not null;

    private static bool Reads(HttpContext http) => HttpMethods.IsGet(http.Request.Method) || HttpMethods.IsHead(http.Request.Method);
}
