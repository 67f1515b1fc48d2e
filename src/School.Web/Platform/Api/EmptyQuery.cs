using System.Reflection;
using School.Web.Platform.Errors;

namespace School.Web.Platform.Api;

/// <summary>What must be given and is given as nothing, <c>?from=</c>, is not what the type stands for by itself: the compiled readers would take it so.</summary>
internal static class EmptyQuery
{
    public static RouteGroupBuilder RefuseEmpty(this RouteGroupBuilder group)
    {
        group.AddEndpointFilterFactory((made, next) =>
        {
            ParameterInfo[] asked = [.. made.MethodInfo.GetParameters().Where(MustBeGiven)];
            return asked.Length == 0 ? next : async context =>
                FaultsOf(context.HttpContext.Request, asked).ToRefusal() is { } refusal ? refusal.ToProblem() : await next(context);
        });
        return group;
    }

    private static bool MustBeGiven(ParameterInfo parameter) => parameter.ParameterType.IsValueType && !parameter.HasDefaultValue
        && Nullable.GetUnderlyingType(parameter.ParameterType) is null && parameter.ParameterType != typeof(CancellationToken);

    private static FieldErrors FaultsOf(HttpRequest request, ParameterInfo[] asked)
    {
        var faults = new FieldErrors();
        foreach (var parameter in asked)
        {
            faults.When(
                !request.RouteValues.ContainsKey(parameter.Name!) && request.Query.TryGetValue(parameter.Name!, out var given) && string.IsNullOrEmpty(given),
                parameter.Name!, UnreadableJson.FormOf(parameter.ParameterType));
        }

        return faults;
    }
}
