using School.Web.Platform.Errors;

namespace School.Web.Platform.Layout;

/// <summary>What stands over every page; whoever knows the name of the school fills it.</summary>
internal interface IHeading
{
    Task<string> WordsAsync(CancellationToken cancel);
}

/// <summary>What the header calls the school; a plain word where the database that knows it is away.</summary>
internal sealed class SchoolName(IHeading heading)
{
    public async Task<string> WordsAsync(HttpContext context)
    {
        if (context.Response.StatusCode >= StatusCodes.Status500InternalServerError)
        {
            return Plain;
        }

        try
        {
            return await heading.WordsAsync(context.RequestAborted);
        }
        catch (Exception exception) when (ErrorHandling.IsDatabaseAway(exception))
        {
            return Plain;
        }
    }

    private const string Plain = "Driving school";
}
