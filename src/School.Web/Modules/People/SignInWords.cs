using School.Web.Modules.People.Contracts;

namespace School.Web.Modules.People;

internal static class SignInWords
{
    public static string Of(SignInState state) => state switch
    {
        SignInState.NotInvited => "not invited",
        SignInState.Invited => "invited",
        SignInState.SignsIn => "signs in",
        SignInState.Closed => "closed",
    };
}
