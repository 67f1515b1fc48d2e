using School.Web.Modules.People.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Layout;

/// <summary>What the header calls the school; a plain word where the database that knows it is away.</summary>
internal sealed class SchoolName(SchoolInfo school)
{
    public async Task<string> WordsAsync(HttpContext context)
    {
        if (context.Response.StatusCode >= StatusCodes.Status500InternalServerError)
        {
            return Plain;
        }

        try
        {
            return (await school.GetAsync(context.RequestAborted)).Name;
        }
        catch (Exception exception) when (ErrorHandling.IsDatabaseAway(exception))
        {
            return Plain;
        }
    }

    private const string Plain = "Driving school";
}
